"""Read a reference: a file, a folder or a text in, a `Reference` or all its faults out.

Theory of operation: bytes become a tree (`_sources`), the tree is walked along the tables of
`_fields` into entries (`_walk`), the entries are held against each other (`_checks`) and against
their pictures, and only where nobody noted a fault are they built into records (`_build`).
"""

import hashlib
import json
from collections.abc import Callable, Iterator, Mapping
from pathlib import Path
from typing import Any

from quickcheck.reference import _build, _checks, _sources, _warnings
from quickcheck.reference._faults import Entry, Faults, came
from quickcheck.reference._fields import FORMAT, REFERENCE
from quickcheck.reference._forms import OUTLINES
from quickcheck.reference._walk import Walked, walk
from quickcheck.reference.identity import PICTURES, canonical_json, composed
from quickcheck.reference.pictures import PICTURE_NAME, picture_fault
from quickcheck.reference.records import Reference

_Pictures = Callable[[str], bytes | None]
_NONE: Mapping[str, bytes] = {}


def read_reference(path: Path) -> Reference:
    """Return the reference in a .toml file, or in a folder that holds one, with its pictures."""
    try:
        file = _sources.find_file(path)
        content = _sources.file_bytes(file)
        document = _sources.parsed(_sources.decoded(content))
    except _sources.FileFaultError as fault:
        raise fault.of(path.name or str(path)) from None
    return _read(document, name=file.name, picture=lambda name: _sources.picture_beside(file, name))


def reference_parts(path: Path) -> tuple[str, str, Mapping[str, bytes]]:
    """Return name, text and named pictures of a file, or of a folder with one, as they are.

    For whoever makes one file into another; only what is no text in TOML is refused here.
    """
    try:
        file = _sources.find_file(path)
        text = _sources.decoded(_sources.file_bytes(file))
        named = set(_named_pictures(_sources.parsed(text)))
    except _sources.FileFaultError as fault:
        raise fault.of(path.name or str(path)) from None
    found = {name: _sources.picture_beside(file, name) for name in sorted(named)}
    return file.name, text, {name: content for name, content in found.items() if content}


def _named_pictures(tree: object) -> Iterator[str]:
    """Yield what stands under the keys of pictures anywhere in a tree, as far as it is a name."""
    inner = tree.values() if isinstance(tree, Mapping) else tree if isinstance(tree, list) else ()
    for each in inner:
        yield from _named_pictures(each)
    if isinstance(tree, Mapping):
        names = (tree.get(key) for key in ("picture", "outline"))
        yield from (n for n in names if isinstance(n, str) and PICTURE_NAME.fullmatch(n))


def read_reference_text(
    text: str, *, name: str = "reference.toml", pictures: Mapping[str, bytes] = _NONE
) -> Reference:
    """Return the reference in a text; ``pictures`` has the content of each by its name."""
    try:
        document = _sources.parsed(text)
    except _sources.FileFaultError as fault:
        raise fault.of(name) from None
    return _read(document, name=name, picture=pictures.get)


def read_reference_tree(
    document: Mapping[str, Any], *, name: str, pictures: Mapping[str, bytes] = _NONE
) -> Reference:
    """Return the reference in a tree, as a TOML reader makes it; ``name`` is told with faults."""
    try:
        _sources.check_depth(document)
    except _sources.FileFaultError as fault:
        raise fault.of(name) from None
    return _read(document, name=name, picture=pictures.get)


def reference_from_canonical(canonical: bytes, pictures: Mapping[str, bytes] = _NONE) -> Reference:
    """Return a stored reference exactly as it was; refuse a form that is not the canonical one."""
    name = "stored reference"
    try:
        document = _stored(canonical)
        digests = document.pop(PICTURES, None)
        reference = _read(document, name=name, picture=pictures.get)
        if reference.canonical != canonical:
            raise _not_as_stored("pictures" if digests != _digests(reference) else "text")
    except _sources.FileFaultError as fault:
        raise fault.of(name) from None
    return reference


def _stored(canonical: bytes) -> dict[str, Any]:
    try:
        document = json.loads(canonical)
    except (ValueError, RecursionError):
        raise _not_as_stored("text") from None
    if not isinstance(document, dict):
        raise _not_as_stored("text")
    _sources.check_depth(document)
    return document


def _digests(reference: Reference) -> dict[str, str]:
    return {
        name: hashlib.sha256(content).hexdigest() for name, content in reference.pictures.items()
    }


def _not_as_stored(what: str) -> _sources.FileFaultError:
    return _sources.FileFaultError(
        "",
        expected=f"the {what} as stored, byte for byte",
        came=f"another {what}",
        remedy="Read the reference again from its file.",
    )


def _read(document: Mapping[str, Any], *, name: str, picture: _Pictures) -> Reference:
    faults = Faults(name)
    tree = composed(dict(document))
    _check_format(tree, faults)
    walked = walk(tree, faults)
    _checks.check(walked, faults)
    pictures = _pictures(walked, picture, faults=faults)
    faults.check()
    canonical = canonical_json(tree, pictures)
    warnings = _warnings.warnings_of(walked)
    return _build.build(walked, pictures=pictures, canonical=canonical, warnings=warnings)


def _check_format(document: Mapping[str, Any], faults: Faults) -> None:
    """Stop at a file of a later format at once: nothing else in it can be judged."""
    number = document.get("format")
    if isinstance(number, int | float) and not isinstance(number, bool) and number != FORMAT:
        form = REFERENCE["format"].form
        faults.add(
            Entry("", (), document), "format", say=(form.expected, came(number), form.remedy)
        )
        faults.check()


def _pictures(walked: Walked, picture: _Pictures, *, faults: Faults) -> dict[str, bytes]:
    """Return the content of every picture that the file names."""
    naming = _naming_pictures(walked)
    contents = {entry[key]: picture(entry[key]) for entry, key in naming}
    wrong = {name: picture_fault(name, content) for name, content in contents.items()}
    for entry, key in naming:
        fault = wrong[entry[key]]
        if fault:
            what = f"{entry[key]}: {fault.came}"
            faults.add(entry, key, say=(fault.expected, what, fault.remedy))
    return {name: content for name, content in contents.items() if content is not None}


def _naming_pictures(walked: Walked) -> list[tuple[Entry, str]]:
    variants = [(variant, "picture") for _, seen in walked.points for variant in seen]
    top = (walked.top, "outline")
    return [(entry, key) for entry, key in (top, *variants) if entry[key] not in {None, *OUTLINES}]
