"""Pictures: inert, small, and what their name says."""

import io

import pytest
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image

from quickcheck.reference.pictures import MOST_BYTES, PictureFault, picture_fault

_HEAD = '<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink"'


def _svg(inside: str, attributes: str = "") -> bytes:
    return f"{_HEAD} {attributes}>{inside}</svg>".encode()


def _image(form: str) -> bytes:
    stream = io.BytesIO()
    Image.new("RGB", (4, 4)).save(stream, form)
    return stream.getvalue()


@pytest.mark.parametrize(
    ("name", "content"),
    [
        ("a.svg", _svg('<title>Data: a cross</title><g fill="none"><path d="M0 0"/></g>')),
        ("a.svg", b'<?xml version="1.0" encoding="UTF-8"?>\n' + _svg("<!-- drawn by hand -->")),
        (
            "a.svg",
            _svg('<defs><pattern id="h"/></defs><rect fill="url(#h)" style="fill:url( \'#h\')"/>'),
        ),
        ("a.png", _image("PNG")),
        ("a.webp", _image("WEBP")),
    ],
)
def test_drawings_and_photographs_are_taken(name: str, content: bytes) -> None:
    """What software writes and what a person draws by hand has no fault."""
    assert picture_fault(name, content) is None


@pytest.mark.parametrize(
    ("content", "came"),
    [
        (_svg("<script>alert(1)</script>"), 'an element "script"'),
        (_svg('<h:script xmlns:h="http://www.w3.org/1999/xhtml"/>'), 'an element "script"'),
        (_svg("<foreignObject/>"), 'an element "foreignObject"'),
        (_svg('<image href="#a"/>'), 'an element "image"'),
        (_svg('<use href="#a"/>'), 'an element "use"'),
        (_svg("<style>*{fill:red}</style>"), 'an element "style"'),
        (_svg('<animate attributeName="href"/>'), 'an element "animate"'),
        (_svg("", 'onload="x()"'), 'an event handler "onload"'),
        (_svg('<path OnClick="x()"/>'), 'an event handler "OnClick"'),
        (_svg('<path href="http://a.example/x"/>'), 'a link outside the picture in "href"'),
        (_svg('<path xlink:href="x.svg#a"/>'), 'a link outside the picture in "href"'),
        (_svg('<path fill="url(http://a.example/#x)"/>'), 'an address or an escape in "fill"'),
        (_svg("<path style=\"fill:url( 'x.svg' )\"/>"), 'an address or an escape in "style"'),
        (_svg("<path style=\"cursor:image-set('//a.example' 1x)\"/>"), "an address or an escape"),
        (_svg('<path style="fill:u\\72l(x)"/>'), 'an address or an escape in "style"'),
        (_svg('<path id="javascript:x"/>'), 'an address or an escape in "id"'),
        (_svg('<path fill="data:x"/>'), 'an address or an escape in "fill"'),
        (b"<svg/>", 'a root element "svg" outside the SVG namespace'),
        (b"<html xmlns='http://www.w3.org/1999/xhtml'/>", 'a root element "html"'),
        (b'<!DOCTYPE svg [<!ENTITY a "b">]>' + _svg("&a;"), "a document type declaration"),
        (
            b'<?xml-stylesheet href="x.css"?>' + _svg(""),
            'a processing instruction "xml-stylesheet"',
        ),
        (_svg("<path>"), "no well-formed XML (mismatched tag"),
        (b"", "no well-formed XML (no element found"),
        (_svg("").decode().encode("utf-16"), "no text in UTF-8"),
        (_image("PNG"), "no text in UTF-8"),
        (b'<?xml version="1.0" encoding="ISO-2022-JP"?>' + _svg(""), 'the encoding "ISO-2022-JP"'),
    ],
)
def test_an_svg_only_draws(content: bytes, came: str) -> None:
    """Scripts, handlers, styles, foreign elements, addresses and declarations are named."""
    fault = picture_fault("a.svg", content)
    assert fault is not None
    assert fault.came.startswith(came)
    assert fault.remedy == "Save it as plain SVG: drawing only."


@pytest.mark.parametrize(
    ("name", "content", "expected", "came"),
    [
        ("a.png", _image("WEBP"), "a png picture", "webp"),
        ("a.webp", _image("PNG"), "a webp picture", "png"),
        ("a.webp", _image("JPEG"), "a webp picture", "another kind of content"),
        ("a.png", _svg(""), "a png picture", "another kind of content"),
        ("a.png", b"RIFF....WAVE", "a png picture", "another kind of content"),
        ("a.png", _image("PNG")[:8], "a png picture", "another kind of content"),
    ],
)
def test_the_content_is_what_the_name_says(
    name: str, content: bytes, expected: str, came: str
) -> None:
    """A suffix alone makes no picture."""
    assert picture_fault(name, content) == PictureFault(
        expected, came, "Save it again in that format."
    )


def test_pictures_have_at_most_200_kb() -> None:
    """The limit itself is allowed, one byte more is not."""
    content = _svg("<!--" + " " * MOST_BYTES + "-->")
    start, padding = content.partition(b" " * 1000)[0], MOST_BYTES - len(_svg("<!---->"))
    exact = start + b" " * padding + b"--></svg>"
    assert len(exact) == MOST_BYTES == 200_000
    assert picture_fault("a.svg", exact) is None
    fault = picture_fault("a.svg", exact + b"\n")
    assert fault is not None
    assert (fault.expected, fault.came) == ("at most 200 kB", "201 kB")


def test_a_missing_picture_is_a_fault() -> None:
    """Nothing where a picture should be says where to put it."""
    fault = picture_fault("a.svg", None)
    assert fault is not None
    assert fault.expected == "a picture of that name beside the reference"


@given(st.binary(max_size=200), st.sampled_from(["a.svg", "a.png", "a.webp"]))
def test_any_content_is_judged(content: bytes, name: str) -> None:
    """Noise is no picture, and no noise gives an exception."""
    assert isinstance(picture_fault(name, content), PictureFault)
