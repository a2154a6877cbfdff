"""Faults that concern a file as a whole, several entries, or more than one change."""

import pytest

from tests.reference import sample


def test_spread_and_tolerance_are_not_both_0() -> None:
    """A measure that can't be off by anything would rule out everybody's gauge."""
    changes = ("tolerance = 0.006\n", ""), ("spread = 0.02", "spread = 0")
    (fault,) = sample.faults_in(sample.changed(*changes))
    assert 'key "spread": expected a spread above 0 where the point has no tolerance' in fault
    assert sample.read(sample.changed(changes[1]))


def _without_points() -> str:
    return sample.example().partition("[[point]]")[0]


def test_a_file_needs_points() -> None:
    """No points at all is a fault, and so is an empty list of them."""
    assert [f for f in sample.faults_in(_without_points()) if 'key "point": expected tables' in f]
    (fault,) = sample.faults_in("point = []\n" + _without_points())
    assert 'key "point": expected 1 to 200 points; got 0' in fault


def test_a_file_has_at_most_200_points() -> None:
    """More than anybody could look at in a day is a fault."""
    row = '[[point]]\nid = "p{}"\narea = "neck"\nkind = "datecode"\nscheme = "year-week"\n'
    text = _without_points() + "".join(row.format(n) for n in range(201))
    (fault,) = sample.faults_in(text)
    assert "expected 1 to 200 points; got 201" in fault


def test_a_file_needs_sources() -> None:
    """Facts without a source are no reference."""
    head = sample.example().replace("[source.ledger]", "[zzz.ledger]")
    head = head.replace("[source.practice]", "[zzz.practice]")
    faults = sample.faults_in(head)
    assert any(
        'key "source": expected tables with a name each, like [source.led' in f for f in faults
    )
    assert any("expected declared sources (none is)" in fault for fault in faults)
    empty = sample.faults_in("source = {}\n" + head)
    assert any('key "source": expected at least one source; got none' in fault for fault in empty)


@pytest.mark.parametrize("value", ["3", "[]", "{a = 1}"])
def test_sources_are_tables(value: str) -> None:
    """Anything else under the key is said to be no table."""
    head = sample.example().replace("[source.ledger]", "[zzz.ledger]")
    text = f"source = {value}\n" + head.replace("[source.practice]", "[zzz.practice]")
    faults = sample.faults_in(text)
    assert any('key "source": expected tables with a name each' in fault for fault in faults)


@pytest.mark.parametrize("key", ["output", "set"])
def test_output_and_sets_are_tables(key: str) -> None:
    """A number under the key is said to be no table."""
    table = {"output": '[output]\n"1952" = 380\n"1953" = 520\n"1953-08" = 12\n'}
    table["set"] = '[set.hardware]\nlabel = "Plated hardware"\nchanged = 0.05\n'
    faults = sample.faults_in(f"{key} = 3\n" + sample.changed((table[key], "")))
    assert faults[0].startswith(f'x.toml, key "{key}": expected ')


@pytest.mark.parametrize("value", ["3", "[3]", "{}"])
def test_points_are_tables(value: str) -> None:
    """Anything else under the key is said to be no list of tables."""
    faults = sample.faults_in(f"point = {value}\n" + _without_points())
    assert any('key "point": expected tables, each under [[point]]' in fault for fault in faults)


def test_a_set_that_is_not_declared_when_none_is() -> None:
    """The message says that there is none."""
    text = sample.changed(('[set.hardware]\nlabel = "Plated hardware"\nchanged = 0.05\n', ""))
    (fault,) = sample.faults_in(text)
    assert 'expected a declared set (none is); got "hardware"' in fault


def _variants(count: int) -> str:
    rows = "".join(
        f'  [[point.seen]]\n  id = "v{n}"\n  label = "V"\n  odds = 2\n' for n in range(count)
    )
    head, _, _ = sample.example().partition('  [[point.seen]]\n  id = "new-finish"')
    return head + rows


def test_a_point_has_1_to_30_variants() -> None:
    """Thirty are read, none and thirty-one are faults."""
    assert len(sample.read(_variants(30)).points[-1].seen) == 30
    (fault,) = sample.faults_in(_variants(31))
    assert 'point "neck-signs", key "seen": expected 1 to 30 variants; got 31' in fault
    (fault,) = sample.faults_in(_variants(0))
    assert 'point "neck-signs", key "seen": expected tables, each under [[point.seen]]' in fault
    (fault,) = sample.faults_in(_variants(0) + "seen = []\n")
    assert "expected 1 to 30 variants; got 0" in fault


def test_all_faults_come_together_in_file_order() -> None:
    """Faults of every sort, between entries too, stand in the order in which one reads the file."""
    text = sample.changed(
        ('id = "hobbinsley-poplin"', 'id = "Poplin"'),
        ('["1950-01", "1965-12"]', '["1965-12", "1950-01"]'),
        ('kind = "document"', 'kind = "hearsay"'),
        ('changed_with = "hardware"', 'changed_with = "hard"'),
        ('picture = "screw-cross.svg"', 'picture = "gone.svg"'),
        ("give = 3", "gives = 3"),
        ("mean = 0.94", "mean = 94"),
        ("first = 641", "first = 9801"),
        ('bears_on = ["area:neck"]', 'bears_on = ["nec"]'),
        ("odds = 20\n", ""),
    )
    order = [
        '"id"',
        '"covers"',
        '"kind"',
        '"changed_with"',
        '"picture"',
        '"gives"',
        '"mean"',
        '"last"',
        '"bears_on"',
        '"odds"',
    ]
    faults = sample.faults_in(text)
    assert len(faults) == len(order)
    for fault, key in zip(faults, order, strict=True):
        assert f"key {key}: expected" in fault


def test_points_of_unknown_kind_are_checked_as_far_as_all_kinds_agree() -> None:
    """What hangs on the kind is not judged, what does not is, unknown keys included."""
    text = sample.changed(
        ('kind = "pick"', 'kind = "choose"'), ("minutes = 0.3", 'minutes = "soon"\nfoo = 1')
    )
    keys = [fault.split('key "')[1].split('"')[0] for fault in sample.faults_in(text)]
    assert keys == ["kind", "minutes", "foo"]


def test_a_later_format_is_the_only_fault() -> None:
    """Nothing else in a file of another format can be judged."""
    (fault,) = sample.faults_in("format = 2\nnovelty = true\n")
    assert 'key "format": expected 1' in fault


def test_hundreds_of_faults_are_all_told_but_without_hints() -> None:
    """Looking for near words is spared where nobody would read them."""
    text = "".join(f"edition{n} = 1\n" for n in range(300)) + sample.example()
    faults = sample.faults_in(text)
    assert len(faults) == 300
    assert faults[0].endswith('Did you mean "edition"?')
    assert faults[-1].endswith("Remove it. Known here: see the format.")
