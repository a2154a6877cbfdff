"""Files that can't be taken as a whole: size, text, syntax, depth, and what hides beside them."""

import os
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from quickcheck.errors import ReferenceFaultsError
from quickcheck.reference import Reference, read_reference, read_reference_text
from tests.reference import sample


def test_a_path_without_a_file_is_told(tmp_path: Path) -> None:
    """The message names what was asked for and why it could not be read."""
    with pytest.raises(
        ReferenceFaultsError, match=r"gone\.toml: expected a reference file.*No such"
    ):
        read_reference(tmp_path / "gone.toml")


def test_a_path_that_no_system_knows_is_told() -> None:
    """A nought byte in a path is a fault like any other."""
    with pytest.raises(
        ReferenceFaultsError, match="expected a reference file or a folder with one"
    ):
        read_reference(Path("a\0b"))


@pytest.mark.parametrize(
    ("names", "came"), [([], "none"), (["a.toml", "b.toml"], "a.toml, b.toml")]
)
def test_a_folder_holds_one_file(tmp_path: Path, names: list[str], came: str) -> None:
    """With none or several nobody can tell which was meant."""
    for name in names:
        (tmp_path / name).write_text(sample.example())
    with pytest.raises(ReferenceFaultsError, match=rf"one \.toml file in the folder; got {came}"):
        read_reference(tmp_path)


def test_other_encodings_are_told_with_the_line(tmp_path: Path) -> None:
    """Text from an old editor is refused at its first foreign byte."""
    (tmp_path / "a.toml").write_bytes(b"format = 1\nid = 'x'\ntitle = 'Caf\xe9'\n")
    with pytest.raises(
        ReferenceFaultsError, match=r"line 3: expected text in UTF-8; got the byte 0xe9"
    ):
        read_reference(tmp_path)


def test_half_a_sign_is_no_text() -> None:
    """A lone surrogate, which no file can hold, is refused as well."""
    with pytest.raises(ReferenceFaultsError, match="expected text in UTF-8; got half a sign"):
        read_reference_text("# \ud800")


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("format = 1\nid = \n", r"x\.toml, line 2, column 6: expected TOML \(toml\.io\); got"),
        ("format = 1\n[source", r"x\.toml, line 2, column last: expected TOML"),
        ("format = 1\nformat = 1\n", r"x\.toml, line 2, column 11: .*Mend that line, or the one"),
        ("a = 1\n[a]\n", r"line 2"),
        ("format = " + "1" * 5000, r"x\.toml: expected TOML"),
    ],
)
def test_slips_of_syntax_are_told_with_the_line(text: str, message: str) -> None:
    """The parser's own words come with line and column where it gives them."""
    with pytest.raises(ReferenceFaultsError, match=message):
        sample.read(text)


def test_files_over_1_mb_are_refused(tmp_path: Path) -> None:
    """A megabyte is ten times the longest reference anybody wrote; from disk or not."""
    text = "#" * 1_000_001
    (tmp_path / "a.toml").write_text(text)
    with pytest.raises(ReferenceFaultsError, match=r"a\.toml: expected a file of at most 1 MB"):
        read_reference(tmp_path / "a.toml")
    with pytest.raises(ReferenceFaultsError, match="expected a file of at most 1 MB"):
        read_reference_text(text)
    with pytest.raises(ReferenceFaultsError, match="got nothing"):
        read_reference_text(text[:-1])


@pytest.mark.parametrize(
    "text",
    [
        "a = " + "[" * 33 + "]" * 33,
        "a = " + "[" * 5000 + "]" * 5000,
        ".".join("a" * 34) + " = 1",
        ". ".join(['"a"'] * 34) + " = 1",
        ".".join("a" * 200_000) + " = 1",
        "[" + ".".join(["'b c'"] * 34) + "]",
        "a = " + "{b=" * 40 + "1" + "}" * 40,
    ],
    ids=["lists", "deep lists", "bare", "quoted", "long", "header", "inline"],
)
def test_nesting_is_limited(text: str) -> None:
    """Towers of lists, tables or dotted keys are refused, quickly."""
    with pytest.raises(ReferenceFaultsError, match="expected at most 32 tables or lists in one"):
        sample.read(text)


def test_nesting_up_to_the_limit_is_only_an_unknown_key() -> None:
    """What is deep but bearable is judged by its key."""
    (fault,) = sample.faults_in(
        sample.changed(("edition", "zzz = " + "[" * 31 + "]" * 31 + "\nedition"))
    )
    assert 'key "zzz": expected a key of the format' in fault


def test_pictures_are_looked_for_beside_the_file(tmp_path: Path) -> None:
    """A missing picture is a fault, with what to do."""
    (tmp_path / "a.toml").write_text(sample.example())
    with pytest.raises(
        ReferenceFaultsError, match=r"screw-cross\.svg: no such file\. Put it there"
    ):
        read_reference(tmp_path)


def test_links_out_of_the_folder_are_no_pictures(tmp_path: Path) -> None:
    """A link could show a dealer any file of the machine: it counts as missing."""
    folder = tmp_path / "reference"
    folder.mkdir()
    (folder / "a.toml").write_text(sample.example())
    (tmp_path / "outside.svg").write_bytes(sample.SVG)
    (folder / "screw-cross.svg").symlink_to(tmp_path / "outside.svg")
    with pytest.raises(ReferenceFaultsError, match="no such file"):
        read_reference(folder)


def test_links_in_a_circle_are_no_pictures(tmp_path: Path) -> None:
    """A link to itself counts as missing too."""
    (tmp_path / "a.toml").write_text(sample.example())
    (tmp_path / "screw-cross.svg").symlink_to(tmp_path / "screw-cross.svg")
    with pytest.raises(ReferenceFaultsError, match="no such file"):
        read_reference(tmp_path)


def test_a_linked_folder_is_read(tmp_path: Path) -> None:
    """The folder itself may be reached by a link."""
    folder = tmp_path / "reference"
    folder.mkdir()
    (folder / "a.toml").write_text(sample.example())
    (folder / "screw-cross.svg").write_bytes(sample.SVG)
    (tmp_path / "link").symlink_to(folder)
    assert read_reference(tmp_path / "link").pictures == sample.PICTURES


def test_large_pictures_are_not_read_whole(tmp_path: Path) -> None:
    """One byte too many is enough to refuse; a file of a gigabyte is not loaded for it."""
    (tmp_path / "a.toml").write_text(sample.example())
    picture = tmp_path / "screw-cross.svg"
    picture.touch()
    os.truncate(picture, 10**9)
    with pytest.raises(ReferenceFaultsError, match=r"at most 200 kB; got screw-cross\.svg: 201"):
        read_reference(tmp_path)


_LINES = sample.example().splitlines()
_VALUES = st.sampled_from(
    [
        "1",
        "-1",
        "nan",
        "inf",
        "1e400",
        '"x"',
        "[]",
        "{}",
        "[[]]",
        "true",
        "1979-05-27",
        '"1954-03"',
        "[1,2]",
        '["a","a"]',
        "{a={b=1}}",
        "0x10",
        "07:32:00",
        '[["1954-03",1]]',
        "'''x'''",
        "9223372036854775808",
    ]
)


@st.composite
def _damaged(draw: st.DrawFn) -> str:
    """Return the example with a few lines lost, doubled, moved or given another value."""
    lines = list(_LINES)
    for _ in range(draw(st.integers(1, 4))):
        at = draw(st.integers(0, len(lines) - 1))
        key = lines[at].partition("=")[0]
        changed = [
            [],
            [lines[at]] * 2,
            [f"{key}= {draw(_VALUES)}"],
            [draw(st.sampled_from(_LINES))],
        ]
        lines[at : at + 1] = draw(st.sampled_from(changed))
    return "\n".join(lines)


@settings(deadline=None)
@given(_damaged())
def test_a_damaged_file_is_read_or_faulted(text: str) -> None:
    """Whatever happens to the lines, it ends in a reference or in faults of that file."""
    try:
        found = sample.read(text)
    except ReferenceFaultsError as error:
        found = error.faults
    assert found if isinstance(found, tuple) else isinstance(found, Reference)


@settings(deadline=None)
@given(content=st.one_of(st.binary(max_size=300), st.text(max_size=300).map(lambda t: t.encode())))
def test_any_bytes_are_read_or_faulted(
    content: bytes, tmp_path_factory: pytest.TempPathFactory
) -> None:
    """No file, however broken, gives another exception."""
    file = tmp_path_factory.getbasetemp() / "any.toml"
    file.write_bytes(content)
    with pytest.raises(ReferenceFaultsError, match=r"any\.toml"):
        read_reference(file)
