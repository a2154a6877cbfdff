"""`quickcheck expect`."""

import math
from pathlib import Path

import pytest

from quickcheck.engine import compile_model
from quickcheck.errors import AnswerError, NotFoundError, ReadingError
from quickcheck.readings import month_of
from quickcheck.reference import read_reference_text
from tests import kit
from tests.cli.kit import printed_json, run


def test_json(file: Path) -> None:
    """The shares are the model's, unrounded, and those of a point add up to one."""
    result = printed_json(run("expect", file, "1953-01..1953-12", "--json"))
    model = compile_model(read_reference_text(kit.REFERENCE))
    wanted = model.expect((month_of(1953, 1), month_of(1953, 12)))
    assert result["points"] == {point: dict(shares) for point, shares in wanted.items()}
    assert result["reference"] == "loom-one"
    assert result["window"] == ["1953-01", "1953-12"]
    for shares in result["points"].values():
        assert math.isclose(sum(shares.values()), 1, abs_tol=1e-6)


def test_words(file: Path) -> None:
    """Without --json each question stands above its variants, the likeliest first."""
    lines = run("expect", file, "1951-01..1951-12").stdout.splitlines()
    assert lines[0] == "Loom One (invented), 1951"
    at = lines.index("Which knobs?")
    assert lines[at + 1].endswith("%  Wood")
    assert not [line for line in lines if line.startswith("   0%")]


def test_by_id(file: Path) -> None:
    """The reference may be named by its id."""
    by_file = run("expect", file, "1953-01..1953-12").stdout
    assert run("expect", "loom-one", "1953-01..1953-12").stdout == by_file


@pytest.mark.parametrize(
    ("window", "code", "said"),
    [
        ("1953-01", AnswerError.exit_code, "two months like"),
        ("1953-13..1953-14", ReadingError.exit_code, '"1953-13"'),
        ("1953-05..1953-01", AnswerError.exit_code, "months in order"),
        ("1949-05..1953-01", AnswerError.exit_code, "1950–1959"),
        ("1953-05..1963-01", AnswerError.exit_code, "months that the reference knows"),
    ],
)
def test_bad_window(file: Path, window: str, code: int, said: str) -> None:
    """Months that the reference does not know are refused, in words and as JSON."""
    result = run("expect", file, window)
    assert (result.exit_code, result.stdout) == (code, "")
    assert said in result.stderr
    assert printed_json(run("expect", file, window, "--json"))["faults"]


def test_unknown_reference() -> None:
    """A reference that is not at hand is answered with those that are."""
    result = run("expect", "nobodys", "1953-01..1953-12")
    assert result.exit_code == NotFoundError.exit_code
    assert "loom-one" in result.stderr
