"""What a file without faults becomes."""

from pathlib import Path

import pytest

from quickcheck import paths
from quickcheck.readings import parse_month
from quickcheck.reference import (
    AREAS,
    Access,
    Assembly,
    Kind,
    Place,
    Reference,
    read_reference,
)
from quickcheck.reference import _fields as fields
from tests.reference import sample

DEMO = sorted((paths.DEMO / "references").glob("*"))


@pytest.fixture(name="reference")
def _reference() -> Reference:
    return sample.read(sample.example())


def test_the_written_up_example_has_no_faults_and_no_warnings(reference: Reference) -> None:
    """Whoever copies the example of the README begins with a clean file."""
    assert reference.warnings == ()
    assert [point.kind for point in reference.points] == [
        Kind.PICK,
        Kind.MEASURE,
        Kind.SERIAL,
        Kind.DATECODE,
        Kind.SIGN,
    ]


def test_the_write_up_names_every_key_area_and_limit() -> None:
    """A key that the reader knows and the README does not would be a secret."""
    text = sample.README.read_text()
    tables = [fields.REFERENCE, fields.SOURCE, fields.SET]
    tables += [*fields.POINT.values(), *fields.VARIANT.values()]
    named = {"source": "[source.NAME]", "set": "[set.NAME]", "output": "[output]"}
    named |= {"point": "[[point]]", "seen": "[[point.seen]]"}
    for key in {key for table in tables for key in table}:
        assert f"`{key}`" in text or named.get(key, f"`{key} = ") in text, key
    for area, (assembly, place) in AREAS.items():
        (row,) = [r for r in text.splitlines() if f"`{area}`" in r and r.endswith(f" {place} |")]
        assert f"| {assembly} |" in row


def test_top_of_the_file(reference: Reference) -> None:
    """Months are numbers, sources and sets go by name, output by period."""
    assert reference.covers == (parse_month("1950-01"), parse_month("1965-12"))
    assert reference.months == 192
    assert reference.sources["ledger"].where == "pp. 12-40"
    assert reference.sources["practice"].where == ""
    assert reference.sets["hardware"].changed == 0.05
    assert reference.output == {"1952": 380.0, "1953": 520.0, "1953-08": 12.0}
    assert (reference.kappa, reference.outline) == (None, "solid")
    assert reference.pictures == sample.PICTURES


def test_a_picked_point(reference: Reference) -> None:
    """Everything that is said about a point and its variants is kept."""
    point = reference.by_id["plate-screws"]
    assert (point.area, point.assembly, point.place) == ("screws", "hardware", "front")
    assert (point.changed, point.changed_with, point.other) == (0.08, "hardware", 0.02)
    assert (point.tools, point.minutes, point.source) == (("lamp",), 0.3, ("ledger",))
    assert point.caution.startswith("Do not try a screw")
    cross, loom, slot = point.seen
    assert (cross.first, cross.last) == (None, parse_month("1956-09"))
    assert (cross.give, cross.share, cross.picture) == (3.0, 1.0, "screw-cross.svg")
    assert (loom.first, loom.last) == (parse_month("1956-10"), parse_month("1962-01"))
    assert slot.note.startswith("Bought from a catalogue")


def test_a_measured_point(reference: Reference) -> None:
    """Unit, span and tolerance; mean and spread of each variant."""
    point = reference.by_id["neck-depth-1"]
    assert (point.unit, point.span, point.tolerance) == ("in", (0.7, 1.1), 0.006)
    assert [(each.mean, each.spread) for each in point.seen] == [(0.94, 0.02), (0.88, 0.02)]
    assert (point.access, point.name) == (Access.HANDLE, "Neck depth, first fret")


def test_a_serial_point(reference: Reference) -> None:
    """The pattern as text, the blocks as numbers, a label made of them."""
    point = reference.by_id["serial"]
    assert point.pattern == "[0-9]{3,4}"
    assert [each.block for each in point.seen] == [(101, 640), (641, 9800)]
    assert point.seen[0].label == "101–640"


def test_a_datecode_point(reference: Reference) -> None:
    """A scheme, no variants."""
    point = reference.by_id["volume-pot"]
    assert (point.scheme, point.seen, point.changed_with) == ("year-week", (), None)
    assert point.access is Access.OPEN


def test_a_sign_point(reference: Reference) -> None:
    """Selectors, several at once, odds or silence."""
    point = reference.by_id["neck-signs"]
    assert (point.bears_on, point.many, point.is_witness) == (("area:neck",), True, False)
    assert [(each.odds, each.silent) for each in point.seen] == [
        (20.0, False),
        (None, True),
        (0.5, False),
    ]


def test_shares_stand_in_place_of_edges() -> None:
    """Knots are pairs of month and share, whole numbers taken as shares too."""
    knots = 'shares = [["1956-06", 0], ["1956-12", 0.9]]'
    text = sample.changed(('from = "1956-10"\n  to = "1962-01"', knots))
    loom = sample.read(text).by_id["plate-screws"].seen[1]
    assert loom.knots == ((parse_month("1956-06"), 0.0), (parse_month("1956-12"), 0.9))


def test_what_is_left_out_is_made_of_the_id() -> None:
    """Question, name and a set's label have words even where none are given."""
    text = sample.changed(
        ('ask = "Drive of the control-plate screws?"\n', ""), ('label = "Plated hardware"\n', "")
    )
    reference = sample.read(text)
    assert reference.points[0].ask == "Plate screws?"
    assert reference.points[0].name == "Plate screws"
    assert reference.sets["hardware"].label == "Hardware"


def test_assembly_and_place_can_be_given() -> None:
    """A point may belong elsewhere than its area does."""
    text = sample.changed(('area = "screws"', 'area = "screws"\nassembly = "body"\nplace = "back"'))
    point = sample.read(text).points[0]
    assert (point.assembly, point.place) == (Assembly.BODY, Place.BACK)


def test_weights_among_replaced_parts() -> None:
    """A weight on some variants is enough; the others have none."""
    text = sample.changed(
        ('label = "Single slot"', 'label = "Single slot"\n  if_changed = 0.7'),
        ("minutes = 0.3", "minutes = 0.3\nother_if_changed = 0"),
    )
    point = sample.read(text).points[0]
    assert [each.if_changed for each in point.seen] == [None, None, 0.7]
    assert point.other_if_changed == 0.0


def test_a_folder_is_read_with_its_pictures(tmp_path: Path) -> None:
    """The one .toml file in a folder, its pictures beside it, other files left alone."""
    (tmp_path / "any.toml").write_text(sample.example())
    (tmp_path / "screw-cross.svg").write_bytes(sample.SVG)
    (tmp_path / "unused.svg").write_bytes(b"nonsense")
    reference = read_reference(tmp_path)
    assert reference == read_reference(tmp_path / "any.toml")
    assert reference.pictures == sample.PICTURES


def test_a_byte_order_mark_is_no_fault(tmp_path: Path) -> None:
    """Some editors put one at the front of UTF-8."""
    (tmp_path / "a.toml").write_bytes(b"\xef\xbb\xbf" + sample.example().encode())
    (tmp_path / "screw-cross.svg").write_bytes(sample.SVG)
    assert read_reference(tmp_path).id == "hobbinsley-poplin"


def test_records_answer_for_themselves(reference: Reference) -> None:
    """A point finds its variants; access rises from eyes to taking apart."""
    point = reference.by_id["plate-screws"]
    assert point.variant("loom") is point.seen[1]
    assert point.variant("other") is None
    assert [access.rank for access in (Access.LOOK, Access.HANDLE, Access.OPEN)] == [0, 1, 2]


@pytest.mark.parametrize("folder", DEMO, ids=lambda folder: folder.name)
def test_demo_references_have_no_faults(folder: Path) -> None:
    """Each demo folder is read whole, and every picture it has is used."""
    reference = read_reference(folder)
    assert reference.id == folder.name
    assert set(reference.pictures) == {
        each.name for each in folder.iterdir() if each.suffix in {".svg", ".png", ".webp"}
    }
