"""Where templates, static files, the demo and the general references live.

The first three stand at the top level of a checkout, beside the package; a wheel carries them
inside it. The references for what no other reference fits are always inside.
"""

from pathlib import Path

_PACKAGE = Path(__file__).resolve().parent


def _find(name: str) -> Path:
    inside = _PACKAGE / name
    return inside if inside.is_dir() else _PACKAGE.parent / name


TEMPLATES = _find("templates")
STATIC = _find("static")
DEMO = _find("demo")
GENERAL = _PACKAGE / "references"
