"""`quickcheck read`."""

import pytest

from quickcheck.errors import ReadingError
from quickcheck.readings import SCHEMES, read_code
from tests.cli.kit import printed_json, run


@pytest.mark.parametrize("scheme", SCHEMES)
def test_every_scheme(scheme: str) -> None:
    """Each scheme reads its own example, in words and as the reading's own JSON."""
    text = SCHEMES[scheme].example
    reading = read_code(scheme, text)
    words = run("read", scheme, text)
    assert words.exit_code == 0
    assert words.stdout.splitlines()[0] == reading.says
    assert len(words.stdout.splitlines()) == 1 + len(reading.meanings)
    assert printed_json(run("read", scheme, text, "--json")) == reading.as_json()


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
