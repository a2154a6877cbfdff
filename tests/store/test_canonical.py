"""The canonical text: what a browser would write, to the letter."""

import json
import math
import shutil
import subprocess
from typing import Any
from unicodedata import normalize

import pytest
from hypothesis import given
from hypothesis import strategies as st

from quickcheck.store.canonical import canonical

# ECMA-262 Number::toString; the pairs are from RFC 8785, appendix B, written from memory and
# held against a JavaScript engine by the test below.
NUMBERS = [
    (0.0, "0"),
    (-0.0, "0"),
    (7.0, "7"),
    (-7.5, "-7.5"),
    (0.935, "0.935"),
    (1e-6, "0.000001"),
    (0.00001, "0.00001"),
    (1e-7, "1e-7"),
    (1.5e-9, "1.5e-9"),
    (5e-324, "5e-324"),
    (1e16, "10000000000000000"),
    (9007199254740992.0, "9007199254740992"),
    (295147905179352830000.0, "295147905179352830000"),
    (999999999999999900000.0, "999999999999999900000"),
    (1e21, "1e+21"),
    (9.999999999999997e22, "9.999999999999997e+22"),
    (1.7976931348623157e308, "1.7976931348623157e+308"),
]

_key = st.text(st.characters(exclude_categories=["Cs"])).map(lambda key: normalize("NFC", key))
_plain = st.recursive(
    st.none()
    | st.booleans()
    | st.integers(-(2**53), 2**53)
    | st.floats(allow_nan=False, allow_infinity=False)
    | st.text(st.characters(exclude_categories=["Cs"])),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(_key, inner, max_size=4),
    max_leaves=12,
)

_BROWSER = """
const order = (value) => Array.isArray(value) ? value.map(order)
  : value && typeof value === "object" ? new Map(Object.entries(value)
      .map(([key, each]) => [key.normalize("NFC"), order(each)]).sort(([a], [b]) => a < b ? -1 : 1))
  : typeof value === "string" ? value.normalize("NFC") : value;
const text = (value) => value instanceof Map
  ? "{" + [...value].map(([key, each]) => JSON.stringify(key) + ":" + text(each)).join(",") + "}"
  : Array.isArray(value) ? "[" + value.map(text).join(",") + "]" : JSON.stringify(value);
const lines = require("fs").readFileSync(0, "utf8").split("\\n");
process.stdout.write(lines.map((line) => text(order(JSON.parse(line)))).join("\\n"));
"""


@pytest.mark.parametrize(("number", "text"), NUMBERS)
def test_a_number_is_written_as_a_browser_writes_it(number: float, text: str) -> None:
    """The fewest digits, an exponent only where ECMAScript has one."""
    assert canonical(number) == text


def test_keys_are_in_the_order_of_their_utf16_units() -> None:
    """A key beyond the basic plane comes before one at its end, as JavaScript sorts them."""
    assert canonical({"\uff00": 1, "\U0001f3b8": 2, "a": 3}) == '{"a":3,"\U0001f3b8":2,"\uff00":1}'


def test_text_is_in_one_form() -> None:
    """A letter with its accent is one text, however the keyboard made it."""
    assert canonical({"e\u0301": "e\u0301"}) == canonical({"\u00e9": "\u00e9"}) == '{"é":"é"}'


def test_an_accent_after_an_escape_stays_apart() -> None:
    """An accent that follows a line break does not join the letter of its escape."""
    assert canonical("\n\u0301") == '"\\n\u0301"'


def test_two_keys_that_become_one_are_refused() -> None:
    """Nothing is dropped in silence."""
    with pytest.raises(ValueError, match="two keys"):
        canonical({"e\u0301": 1, "\u00e9": 2})


@pytest.mark.parametrize("value", [math.nan, math.inf, {1: 2}, b"", {"a": {1}}])
def test_what_json_cannot_carry_is_refused(value: object) -> None:
    """No number that is none, no key that is no text, nothing of Python's own."""
    with pytest.raises((ValueError, TypeError)):
        canonical(value)


@given(_plain)
def test_the_text_gives_the_value_back(value: Any) -> None:
    """Read again it is the same data and has the same text."""
    text = canonical(value)
    assert canonical(json.loads(text)) == text


@pytest.mark.checkout
@pytest.mark.skipif(shutil.which("node") is None, reason="needs a JavaScript engine")
def test_a_javascript_engine_writes_the_same() -> None:
    """Thousands of numbers, texts and objects come out of JavaScript to the letter the same."""
    made: list[Any] = [number for number, _ in NUMBERS]

    @given(_plain)
    def gather(value: Any) -> None:
        made.append(value)

    gather()
    made += [k * 10.0**e for k in (1, 3, 7.7, 9.99999, 1 / 3) for e in range(-320, 305, 3)]
    texts, lines = [canonical(value) for value in made], [json.dumps(value) for value in made]
    ran = subprocess.run(
        ["node", "-e", _BROWSER], input="\n".join(lines), capture_output=True, text=True, check=True
    )
    assert ran.stdout.split("\n") == texts
