"""Pictures that a reference brings along: small, of the type they claim, and inert.

A picture comes from someone else's disk and is shown on a dealer's phone, so an SVG may hold
drawing and nothing else: known elements only, no scripts, handlers, styles, or links outside.
"""

import re
from dataclasses import dataclass
from typing import Final
from xml.parsers import expat  # declarations, the way in for entities, are refused below

MOST_BYTES: Final = 200_000
PICTURE_NAME: Final = re.compile(
    r"[A-Za-z0-9][A-Za-z0-9_-]*(?:\.[A-Za-z0-9_-]+)*\.(?:svg|png|webp)"
)
LONGEST_NAME: Final = 100
_SVG: Final = "http://www.w3.org/2000/svg"
_DRAWING: Final = frozenset(
    {"svg", "title", "desc", "g", "defs", "symbol", "path", "line", "polyline", "polygon"}
    | {"rect", "circle", "ellipse", "text", "tspan", "clipPath", "mask", "pattern", "marker"}
    | {"linearGradient", "radialGradient", "stop"}
)
_LINKS: Final = frozenset({"href", "src"})
_OUTSIDE: Final = re.compile(
    r"url\(\s*['\"]?\s*(?!['\"#\s])|[a-z]+script:|data:|@import|//|\\", re.IGNORECASE
)
_REMEDY: Final = "Save it as plain SVG: drawing only."


@dataclass(frozen=True, slots=True)
class PictureFault:
    """What is wrong with a picture."""

    expected: str
    came: str
    remedy: str


def picture_fault(name: str, content: bytes | None) -> PictureFault | None:
    """Return what is wrong with a picture's content, None where nothing is."""
    if content is None:
        return PictureFault(
            "a picture of that name beside the reference", "no such file", "Put it there."
        )
    if len(content) > MOST_BYTES:
        return PictureFault(
            f"at most {MOST_BYTES // 1000} kB",
            f"{-(-len(content) // 1000)} kB",
            "Make it smaller: a button shows it about 100 pixels wide.",
        )
    suffix = name.rpartition(".")[2]
    if suffix == "svg":
        return _svg_fault(content)
    if _type_of(content) != suffix:
        return PictureFault(
            f"a {suffix} picture", _type_of(content), "Save it again in that format."
        )
    return None


def _type_of(content: bytes) -> str:
    if content.startswith(b"\x89PNG\r\n\x1a\n") and content[12:16] == b"IHDR":
        return "png"
    if content[:4] == b"RIFF" and content[8:15] == b"WEBPVP8":
        return "webp"
    return "another kind of content"


class _ForbiddenError(Exception):
    """Something in the SVG that is no drawing."""


def _svg_fault(content: bytes) -> PictureFault | None:
    parser = expat.ParserCreate("utf-8", " ")
    parser.StartElementHandler = _Elements().start
    parser.XmlDeclHandler = _only_utf8
    parser.StartDoctypeDeclHandler = _no_declaration
    parser.ProcessingInstructionHandler = _no_instruction
    try:
        parser.Parse(content.decode(), True)
    except UnicodeDecodeError:
        return PictureFault("an svg picture", "no text in UTF-8", _REMEDY)
    except expat.ExpatError as error:
        return PictureFault("an svg picture", f"no well-formed XML ({error})", _REMEDY)
    except _ForbiddenError as error:
        return PictureFault("an svg picture that only draws", str(error), _REMEDY)
    return None


def _only_utf8(_version: str, encoding: str | None, _standalone: int) -> None:
    """Refuse any other name: a browser that believed it would see other elements than these."""
    if (encoding or "utf-8").lower() != "utf-8":
        raise _ForbiddenError(f'the encoding "{encoding}"')


def _no_declaration(*_: object) -> None:
    raise _ForbiddenError("a document type declaration")


def _no_instruction(target: str, _data: str) -> None:
    raise _ForbiddenError(f'a processing instruction "{target}"')


class _Elements:
    """Checks one element after the other; the first must be the svg itself."""

    def __init__(self) -> None:
        self._root = True

    def start(self, name: str, attributes: dict[str, str]) -> None:
        space, _, local = name.rpartition(" ")
        if self._root and (space, local) != (_SVG, "svg"):
            raise _ForbiddenError(f'a root element "{local}" outside the SVG namespace')
        self._root = False
        if space != _SVG or local not in _DRAWING:
            raise _ForbiddenError(f'an element "{local}"')
        for full, value in attributes.items():
            _check_attribute(full.rpartition(" ")[2], value)


def _check_attribute(name: str, value: str) -> None:
    if name.lower().startswith("on"):
        raise _ForbiddenError(f'an event handler "{name}"')
    if name in _LINKS and not value.strip().startswith("#"):
        raise _ForbiddenError(f'a link outside the picture in "{name}"')
    if _OUTSIDE.search(value):
        raise _ForbiddenError(f'an address or an escape in "{name}"')
