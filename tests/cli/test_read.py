"""`quickcheck read`."""

import pytest

from quickcheck.errors import ReadingError
from quickcheck.readings import SCHEMES, read_text
from tests.cli.kit import printed_json, run


@pytest.mark.parametrize("scheme", SCHEMES)
def test_every_scheme(scheme: str) -> None:
    """Each scheme reads its own example, in words and as the reading's own JSON."""
    text = SCHEMES[scheme].example
    reading = read_text(scheme, text)
    words = run("read", scheme, text)
    assert words.exit_code == 0
    assert words.stdout.splitlines()[0] == reading.says
    assert len(words.stdout.splitlines()) == 1 + len(reading.meanings)
    assert printed_json(run("read", scheme, text, "--json")) == reading.as_json()


def test_json_has_the_form_that_was_agreed_on() -> None:
    """A week of 1966: ISO dates, null where nothing bounds."""
    found = printed_json(run("read", "source-week", "137-6634", "--json"))
    assert found["read"] == "137-6634"
    (meaning,) = found["meanings"]
    wanted = {"from": "1966-08-14", "to": "1966-08-28", "year": 1966, "week": 34}
    assert {key: meaning[key] for key in wanted} == wanted
    assert (found["floor"], found["ceiling"]) == ("1966-08-14", None)


@pytest.mark.parametrize(
    ("scheme", "text", "line"),
    [
        ("year-week", "59-31", "  1959-07-26 to 1959-08-08: week 31 of 1959"),
        ("patent-us", "12,000,000", "  2000-01-04 to …: US patent 12,000,000"),
        ("patent-us", "500,000", "  … to 1899-12-26: US patent 500,000"),
        ("weight", "8 lb 4 oz", "  3.742 kg"),
    ],
)
def test_a_line_for_each_meaning(scheme: str, text: str, line: str) -> None:
    """Its days, an open end as …, none where it has none."""
    assert run("read", scheme, text).stdout.splitlines()[1].startswith(line)


def test_help_has_every_scheme_with_an_example() -> None:
    """The list is that of the room."""
    shown = run("read", "--help").stdout
    for name, scheme in SCHEMES.items():
        assert f'{name}: {scheme.about} Like "{scheme.example}".' in shown


@pytest.mark.parametrize("scheme", SCHEMES)
def test_what_no_scheme_reads(scheme: str) -> None:
    """Each refuses a text without sense, with what was expected."""
    result = run("read", scheme, "lorem ipsum")
    assert result.exit_code == ReadingError.exit_code
    assert "expected" in result.stderr
    assert "lorem ipsum" in result.stderr


@pytest.mark.parametrize(
    ("scheme", "text", "said"),
    [
        ("year-week", "99", '"99"'),
        ("year-week", "", '""'),
        ("year-week", "59-31\0", "59-31"),
        ("moon-phase", "59-31", "year-week"),
    ],
)
def test_bad_input(scheme: str, text: str, said: str) -> None:
    """What can't be read, or by no scheme known, is refused with what came."""
    result = run("read", scheme, text)
    assert result.exit_code == ReadingError.exit_code
    assert said in result.stderr
    told = run("read", scheme, text, "--json")
    assert told.exit_code == ReadingError.exit_code
    assert printed_json(told)["error"] == "ReadingError"
