"""Identity: what a reference says and nothing else, the same from file and from storage."""

import hashlib
import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

from quickcheck.errors import ReferenceFaultsError
from quickcheck.reference import reference_from_canonical
from quickcheck.reference.identity import canonical_json
from tests.reference import sample


def _hash(text: str) -> str:
    return sample.read(text).hash


def test_the_hash_is_the_digest_of_the_canonical_json() -> None:
    """Anybody with the canonical form can check the identity with one standard tool."""
    reference = sample.read(sample.example())
    assert reference.hash == hashlib.sha256(reference.canonical).hexdigest()
    tree = json.loads(reference.canonical)
    plain = json.dumps(tree, ensure_ascii=False, sort_keys=True, separators=(",", ":")).encode()
    assert plain == reference.canonical
    assert tree["pictures"] == {"screw-cross.svg": hashlib.sha256(sample.SVG).hexdigest()}
    assert tree["point"][0]["minutes"] == 0.3


def test_a_known_tree_has_a_known_form() -> None:
    """Sorted keys, floats for all numbers, booleans left alone, composed text, no blanks."""
    tree = {"b": [1, 2.5, -0.0, True], "a": "e\u0301", "e\u0301": {"z": 10**6}}
    assert canonical_json(tree, {}).decode() == (
        '{"a":"é","b":[1.0,2.5,0.0,true],"pictures":{},"é":{"z":1000000.0}}'
    )


@pytest.mark.parametrize(
    "change",
    [
        ("format = 1\n", "# remark\n\nformat=1\n"),
        ('id = "hobbinsley-poplin"\ntitle', 'title_ = ""\ntitle'),
        ("minutes = 0.3", "minutes = 3e-1"),
        ("span = [0.70, 1.10]", "span = [\n  0.7,\n  1.1,\n]"),
        ("format = 1", "format = 1.0"),
        ("first = 641", "first = 641.0"),
    ],
)
def test_spelling_does_not_count(change: tuple[str, str]) -> None:
    """Remarks, blanks and the way a number is written leave the identity alone."""
    text = sample.changed(change).replace('title_ = ""', 'id = "hobbinsley-poplin"')
    assert _hash(text) == _hash(sample.example())


def test_the_order_of_keys_does_not_count_but_that_of_points_does() -> None:
    """Keys are sorted; points are asked in file order, so their order is part of what is said."""
    swapped = ('id = "plate-screws"\narea = "screws"', 'area = "screws"\nid = "plate-screws"')
    assert _hash(sample.changed(swapped)) == _hash(sample.example())
    head, first, *rest = sample.example().split("[[point]]")
    moved = "[[point]]".join([head, *rest[:-1], "\n" + rest[-1] + "\n", first])
    assert _hash(moved) != _hash(sample.example())


def test_unicode_forms_do_not_count() -> None:
    """An accent composed or combining is one letter, in the identity and in the record."""
    composed = sample.changed(("Fettle", "F\u00e9ttle"))
    combining = sample.changed(("Fettle", "Fe\u0301ttle"))
    assert sample.read(composed) == sample.read(combining)


@pytest.mark.parametrize(
    "change",
    [
        ("0.05", "0.06"),
        ("Cross recess", "Cross recess."),
        ('edition = "2026-11"', 'edition = "2026-12"'),
    ],
)
def test_every_word_and_number_counts(change: tuple[str, str]) -> None:
    """Another number or letter is another edition."""
    assert _hash(sample.changed(change)) != _hash(sample.example())


def test_pictures_count() -> None:
    """The same words with another drawing are another edition."""
    other = {"screw-cross.svg": sample.SVG.replace(b"M0 0h9", b"M0 0h8")}
    assert sample.read(sample.example(), other).hash != _hash(sample.example())


def test_a_stored_reference_comes_back_exactly() -> None:
    """From the canonical form and the pictures comes an equal reference, warnings included."""
    reference = sample.read(sample.changed(('source = ["ledger"]\n', "")))
    stored = reference_from_canonical(reference.canonical, reference.pictures)
    assert stored == reference
    assert stored.warnings


@given(
    st.floats(0.01, 0.99), st.integers(1, 10**9), st.text("aé\u0301 ß", min_size=1).map("x".__add__)
)
def test_any_values_come_back_exactly(rate: float, made: int, words: str) -> None:
    """Numbers and words survive storage to the last digit and letter."""
    text = sample.changed(
        ("changed = 0.05", f"changed = {rate!r}"), ("380", str(made)), ("Cross recess", words)
    )
    reference = sample.read(text)
    assert reference.sets["hardware"].changed == rate
    assert reference_from_canonical(reference.canonical, sample.PICTURES) == reference


_CANONICAL = sample.read(sample.example()).canonical


@pytest.mark.parametrize(
    ("canonical", "pictures", "message"),
    [
        (b" " + _CANONICAL, sample.PICTURES, "the text as stored, byte for byte; got another text"),
        (_CANONICAL.replace(b'"minutes":0.3', b'"minutes":0.30'), sample.PICTURES, "the text as"),
        (
            _CANONICAL,
            {"screw-cross.svg": sample.SVG + b"\n"},
            "the pictures as stored, byte for byte",
        ),
        (_CANONICAL, {}, r"screw-cross\.svg: no such file"),
        (_CANONICAL[:-1], sample.PICTURES, "the text as stored"),
        (b"[]", {}, "the text as stored"),
        (b"\xff", {}, "the text as stored"),
        (b"[" * 100_000, {}, "the text as stored"),
        (b'{"a":' + b"[" * 40 + b"]" * 40 + b"}", {}, "at most 32 tables"),
        (
            _CANONICAL.replace(b"Cross recess", b"\\ud800"),
            sample.PICTURES,
            'key "label": expected text',
        ),
        (_CANONICAL.replace(b'"minutes":0.3', b'"minutes":NaN'), sample.PICTURES, 'key "minutes"'),
    ],
)
def test_what_is_not_exactly_as_stored_is_refused(
    canonical: bytes, pictures: dict[str, bytes], message: str
) -> None:
    """A damaged store never yields a reference that is nearly the one."""
    with pytest.raises(ReferenceFaultsError, match=message) as caught:
        reference_from_canonical(canonical, pictures)
    assert all(fault.where.startswith("stored reference") for fault in caught.value.faults)
