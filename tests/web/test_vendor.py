"""What others wrote and we serve: byte for byte what they published, with its licence."""

from hashlib import sha256

import pytest

from quickcheck import paths

PINNED = {
    "htmx-4.0.1.min.js": "a0abb04f2f45a1f89d1d4844023245537e5e6014c87b144553e0607b4cc32130",
    "lean-qr-2.7.4.mjs": "0ce41cd6f92cc23cf057a1df7e1b3876767d678665dd65af4e1d22b4fad967dc",
    # the package's decode.js under another ending, as its types stand beside it
    "qr-0.7.0/decode.mjs": "00e209820dcb11d624e9a03d6383e580766792b57d1651318f0a29e4e1ff0fe8",
    "qr-0.7.0/index.js": "a0de370051f94bd74f218f74401fdf197585e3f9ef0143164f87ea941a3fdd6f",
}
"""SHA-256 of the files as their packages on npm have them, by their names in `static/vendor/`."""
LICENCES = {
    "htmx-4.0.1.min.js": "htmx-LICENSE.txt",
    "lean-qr-2.7.4.mjs": "lean-qr-LICENSE.txt",
    "qr-0.7.0/decode.mjs": "qr-0.7.0/LICENSE.txt",
    "qr-0.7.0/index.js": "qr-0.7.0/LICENSE.txt",
}
VENDOR = paths.STATIC / "vendor"


def test_every_script_is_pinned() -> None:
    """No script of others is served that is not on the list."""
    scripts = {p.relative_to(VENDOR).as_posix() for p in VENDOR.rglob("*") if p.is_file()}
    assert {name for name in scripts if name.endswith((".js", ".mjs"))} == PINNED.keys()


@pytest.mark.parametrize("name", PINNED)
def test_pinned(name: str) -> None:
    """A script is what its authors published, and its licence lies beside it."""
    assert sha256((VENDOR / name).read_bytes()).hexdigest() == PINNED[name]
    licence = (VENDOR / LICENCES[name]).read_text(encoding="utf-8")
    assert "Permission" in licence
