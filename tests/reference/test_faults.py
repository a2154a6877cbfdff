"""Every fault of the format: one small change to the example, and the message that it gives."""

import re

import pytest

from quickcheck.errors import ReferenceFaultsError
from tests.reference import sample

_SCREWS = r'point "plate-screws"'
_CROSS = r'point "plate-screws", variant "cross"'
_POINT_END = 'caution = "Do not try a screw that is painted over."'
_KNOTS = 'from = "1956-10"\n  to = "1962-01"'


def _screws(line: str) -> tuple[str, str]:
    """Return the change that adds a line to the first point."""
    return _POINT_END, f"{_POINT_END}\n{line}"


TOP = [
    (("format = 1\n", ""), r'key "format": expected 1, the format that this software reads; got not'),
    (("format = 1", "format = 2"), r'key "format": expected 1,.*got "2"\. Write format = 1, or use'),
    (("format = 1", "format = true"), r'key "format": expected 1,.*got true'),
    (("format = 1", 'format = "1"'), r'key "format": expected 1,'),
    (('id = "hobbinsley-poplin"', 'id = "Poplin"'), r'"id": expected a to z.*got "Poplin"\. Rename'),
    (('id = "hobbinsley-poplin"', 'id = "a--b"'), r'key "id": expected a to z, 0 to 9 and single'),
    (('id = "hobbinsley-poplin"', f'id = "{"a" * 65}"'), r'key "id": expected .*at most 64 signs'),
    (('id = "hobbinsley-poplin"', "id = 7"), r'key "id": expected .*; got "7"'),
    (('edition = "2026-11"', 'edition = " "'), r'key "edition": expected text in quotes, 1 to 40'),
    (('edition = "2026-11"', "edition = 2026-11-25"), r'key "edition": .*got 2026-11-25 without quo'),
    (('licence = "CC0-1.0"\n', ""), r'key "licence": expected text.*got nothing\. Write it'),
    (('title = "Hob', 'title = "\\u0000Hob'), r'key "title": expected text'),
    (('title = "Hob', 'title = "\\u202eHob'), r'key "title": expected text'),
    (('author = "Fettle & Daughter (invented)"', f'author = "{"x" * 201}"'), r"1 to 200 characters"),
    (('["1950-01", "1965-12"]', '["1965-12", "1950-01"]'), r'"covers": expected the earlier month first; got 1965-12 to 1950-01\. Turn them round'),
    (('["1950-01", "1965-12"]', '["1900-01", "2000-01"]'), r'"covers": expected at most 100 years'),
    (('["1950-01", "1965-12"]', '["1950", "1965-12"]'), r'"covers": expected a month from 1800-01'),
    (('["1950-01", "1965-12"]', '["1950-01"]'), r'"covers": expected two months in quotes'),
    (('["1950-01", "1965-12"]', '"1950"'), r'"covers": expected two months in quotes'),
    (('["1950-01", "1965-12"]', "[1950, 1965]"), r'"covers": expected two months in quotes'),
    (('outline = "solid"', 'outline = "round"'), r'"outline": expected one of solid, bass, archtop, f'),
    (('outline = "solid"', 'outline = "o.svg"'), r'"outline": expected a picture of that name.*o\.svg: no such file\. Put it there'),
    (('outline = "solid"', "outline = 3"), r'"outline": expected one of solid'),
    (('outline = "solid"', "kappa = 0.4"), r'"kappa": expected a number from 0\.5 to 3'),
    (('outline = "solid"', "kappa = nan"), r'"kappa": expected a number from 0\.5 to 3; got "nan"'),
    (('outline = "solid"', "kappa = true"), r'"kappa": expected a number.*got true'),
    (('outline = "solid"', 'outlin = "solid"'), r'"outlin": expected a key of the format; got "outlin"\. Did you mean "outline"\?'),
    (('outline = "solid"', "zzz = {}"), r'"zzz": .*Remove it\. Known here: format, id, title'),
    (('"1952" = 380', '"1952" = 0'), r'"output": expected years or months in quotes.*got a table'),
    (('"1952" = 380', '"1952-13" = 1'), r'"output": expected a month from'),
    (('"1952" = 380', '"52" = 1'), r'"output": expected years or months'),
    (('"1952" = 380', '"1952" = "many"'), r'"output": expected years or months'),
    (('kind = "document"', 'kind = "hearsay"'), r'source "ledger", key "kind": expected one of document, census, published, common-practice, memory; got "hearsay"'),
    (('title = "Wage ledger, transcribed (invented)"\n', ""), r'source "ledger", key "title": .*nothing'),
    (("[output]", '[source.Ledger]\ntitle = "x"\nkind = "memory"\n[output]'), r'source "Ledger": expected a name of a to z'),
    (("[output]", "[set.hard_ware]\nchanged = 0.1\n[output]"), r'set "hard_ware": expected a name of a to z'),
    (("changed = 0.05\n", ""), r'set "hardware", key "changed": expected a number above 0 and below 1; got nothing'),
]  # fmt: skip
POINTS = [
    (('id = "plate-screws"', 'id = "serial"'), r'point "serial", key "id": expected an id used once; got "serial" again'),
    (('id = "plate-screws"', 'id = "other"'), r'point "other", key "id": expected .* not "other", which stands for'),
    (('id = "plate-screws"\n', ""), r'point 1, key "id": expected .*got nothing'),
    (('id = "plate-screws"', 'id = ""'), r'point 1, key "id": expected'),
    (('area = "screws"', 'area = "screw"'), rf'{_SCREWS}, key "area": expected one of hardware, screws'),
    (('kind = "pick"', 'kind = "choose"'), rf'{_SCREWS}, key "kind": expected one of pick, measure, serial, datecode, sign; got "choose"'),
    (('kind = "pick"\n', ""), rf'{_SCREWS}, key "kind": .*got nothing'),
    (('kind = "pick"', "kind = ['pick']"), rf'{_SCREWS}, key "kind": expected one of'),
    (_screws('assembly = "wing"'), rf'{_SCREWS}, key "assembly": expected one of neck, body'),
    (_screws('place = "top"'), rf'{_SCREWS}, key "place": expected one of front, headstock'),
    (_screws('access = "touch"'), rf'{_SCREWS}, key "access": expected one of look, handle, open'),
    (('tools = ["lamp"]', 'tools = "lamp"'), rf'{_SCREWS}, key "tools": expected a list of 0 to 100'),
    (('tools = ["lamp"]', 'tools = ["lamp", "lamp"]'), rf'{_SCREWS}, key "tools": .*none twice'),
    (('tools = ["lamp"]', 'tools = ["UV lamp"]'), rf'{_SCREWS}, key "tools": .*each a to z'),
    (("minutes = 0.3", "minutes = 0"), rf'{_SCREWS}, key "minutes": expected a number above 0, at most 600; got "0"'),
    (("minutes = 0.3", "minutes = -1"), rf'{_SCREWS}, key "minutes"'),
    (("changed = 0.08", "changed = 0"), rf'{_SCREWS}, key "changed": expected a number above 0'),
    (("changed = 0.08", "changed = 1"), rf'{_SCREWS}, key "changed": .*below 1; got "1"'),
    (("changed = 0.08", 'changed = "8 %"'), rf'{_SCREWS}, key "changed": .*got "8 %"\. Write a number'),
    (("changed = 0.08", f"changed = {'9' * 400}"), r"a number beyond all measure"),
    (_screws("other = 0"), rf'{_SCREWS}, key "other": expected a number above 0'),
    (('changed_with = "hardware"', 'changed_with = "hardwear"'), rf'{_SCREWS}, key "changed_with": expected a declared set \(hardware\); got "hardwear"\. Write \[set\.hardwear\]'),
    (('changed_with = "hardware"', 'changed_with = "codes"'), rf'{_SCREWS}, key "changed_with": expected a set other than the one of all date codes'),
    (('source = ["ledger"]', 'source = ["leger"]'), rf'{_SCREWS}, key "source": expected declared sources \(ledger, practice\); got "leger"'),
    (('source = ["ledger"]', "source = []"), rf'{_SCREWS}, key "source": expected a list of 1'),
    (_screws("other_if_changed = 0.1"), rf'{_SCREWS}, key "other_if_changed": expected if_changed on the variants as well; got it alone'),
    (('id = "cross"', 'id = "cross"\n  if_changed = 0'), rf'{_SCREWS}, key "seen": expected if_changed weights that do not add up to 0; got 1 of 0'),
    (_screws('unit = "in"'), rf'{_SCREWS}, key "unit": .*belongs to another kind of point'),
    (_screws("sene = 3"), rf'{_SCREWS}, key "sene": .*Did you mean "seen"\?'),
    (('unit = "in"\n', ""), r'point "neck-depth-1", key "unit": expected one of in, mm.*got nothing'),
    (('unit = "in"', 'unit = "inch"'), r'point "neck-depth-1", key "unit": .*got "inch"'),
    (("span = [0.70, 1.10]\n", ""), r'point "neck-depth-1", key "span": expected two numbers'),
    (("span = [0.70, 1.10]", "span = [1.10, 0.70]"), r'"span": expected the lower number first; got \[1\.1, 0\.7\]'),
    (("span = [0.70, 1.10]", "span = [0.70, inf]"), r'"span": expected'),
    (("span = [0.70, 1.10]", "span = 1"), r'"span": expected two numbers'),
    (("tolerance = 0.006", "tolerance = -1"), r'"tolerance": expected a number from 0'),
    (('pattern = "[0-9]{3,4}"\n', ""), r'point "serial", key "pattern": expected a pattern in quotes; got nothing'),
    (('pattern = "[0-9]{3,4}"', 'pattern = "[0-9"'), r'point "serial", key "pattern": expected signs and a'),
    (('pattern = "[0-9]{3,4}"', "pattern = 3"), r'point "serial", key "pattern": expected a pattern in qu'),
    (('scheme = "year-week"\n', ""), r'point "volume-pot", key "scheme": expected one of year-week'),
    (('scheme = "year-week"', 'scheme = "week-year"'), r'"scheme": expected one of year-week, source-week; got "week-year"'),
    (('scheme = "year-week"', 'scheme = "year-week"\nchanged_with = "hardware"'), r'point "volume-pot", key "changed_with": expected a key'),
    (('scheme = "year-week"', 'scheme = "year-week"\nseen = []'), r'point "volume-pot", key "seen": .*belongs to another kind'),
    (('bears_on = ["area:neck"]\n', ""), r'point "neck-signs", key "bears_on": expected a list'),
    (('bears_on = ["area:neck"]', "bears_on = []"), r'"bears_on": expected a list of 1 to 100'),
    (('bears_on = ["area:neck"]', 'bears_on = ["area:decal"]'), r'"bears_on": expected ids of points, "area:…" or "assembly:…"; got "area:decal", which selects no point'),
    (('bears_on = ["area:neck"]', 'bears_on = ["neck-signs"]'), r'"neck-signs", which selects no point'),
    (('bears_on = ["area:neck"]', 'bears_on = ["colour:neck"]'), r'"colour:neck", which selects no'),
    (('bears_on = ["area:neck"]', 'bears_on = ["neck*"]'), r'"neck\*", which selects no point'),
    (("many = true", "many = 1"), r'"many": expected true or false; got "1"'),
]  # fmt: skip
VARIANTS = [
    (('id = "loom"', 'id = "cross"'), rf'{_CROSS}, key "id": expected an id used once'),
    (('id = "cross"', 'id = "other"'), r'variant "other", key "id": expected .* not "other"'),
    (('  id = "cross"\n', ""), rf'{_SCREWS}, variant 1, key "id": .*got nothing'),
    (('label = "Cross recess"\n', ""), rf'{_CROSS}, key "label": .*got nothing'),
    (('to = "1956-09"', "to = 1956-09-01"), rf'{_CROSS}, key "to": expected a month in quotes, like "1954-03"; got 1956-09-01 without quotes\. Put quotes'),
    (('to = "1956-09"', 'to = "1956-9"'), rf'{_CROSS}, key "to": expected a month from 1800-01'),
    (('from = "1956-10"', 'from = "1962-02"'), r'variant "loom", key "to": expected a last month not before the first; got 1962-02 to 1962-01'),
    (("give = 3", "give = -1"), rf'{_CROSS}, key "give": expected a number from 0 to 600'),
    (("give = 3", "share = 0"), rf'{_CROSS}, key "share": expected a number above 0'),
    (("give = 3", 'note = ""'), rf'{_CROSS}, key "note": expected text'),
    (("give = 3", 'source = ["x"]'), rf'{_CROSS}, key "source": expected declared sources'),
    (("give = 3", "mean = 3"), rf'{_CROSS}, key "mean": .*belongs to another kind'),
    (("give = 3", 'lable = "x"'), rf'{_CROSS}, key "lable": .*Did you mean "label"\?'),
    ((_KNOTS, _KNOTS + '\n  shares = [["1956-06", 0.1]]'), r'variant "loom", key "shares": expected shares without edges; got from, to as well'),
    ((_KNOTS, 'shares = [["1956-12", 0.1], ["1956-06", 1]]'), r'"shares": expected months that rise; got "1956-12, 1956-06"'),
    ((_KNOTS, 'shares = [["1956-06", 0.1], ["1956-06", 1]]'), r'"shares": expected months that rise'),
    ((_KNOTS, 'shares = [["1956-06", 0]]'), r'"shares": expected a share above 0 in some month'),
    ((_KNOTS, 'shares = [["1956-06", -1]]'), r'"shares": expected'),
    ((_KNOTS, "shares = []"), r'"shares": expected a list of pairs'),
    ((_KNOTS, 'shares = "late"'), r'"shares": expected a list of pairs'),
    ((_KNOTS, 'shares = [["1956-06"]]'), r'"shares": expected a list of pairs'),
    ((_KNOTS, 'shares = [["June", 1]]'), r'"shares": expected a month from'),
    (("mean = 0.94\n", ""), r'point "neck-depth-1", variant "club", key "mean": .*got nothing'),
    (("spread = 0.02\n", ""), r'variant "club", key "spread": .*got nothing'),
    (("mean = 0.94", "mean = 94"), r'variant "club", key "mean": expected a mean inside the span, 0\.7 to 1\.1; got 94'),
    (("first = 641", "first = 9801"), r'variant "block-2", key "last": expected a last number from 9801'),
    (("first = 641\n", ""), r'variant "block-2", key "first": expected a whole number.*got nothing'),
    (("first = 641", "first = 6.5"), r'"first": expected a whole number'),
    (("first = 641", "first = -1"), r'"first": expected a whole number'),
    (("first = 641", "first = false"), r'"first": expected a whole number'),
    (('pattern = "[0-9]{3,4}"', 'pattern = "9[0-9]{3}"'), r'variant "block-1", key "first": expected numbers that fit the pattern "9\[0-9\]\{3\}"; got 101 to 640, of which none does'),
    (("odds = 20\n", ""), r'variant "new-finish", key "odds": expected either odds or silent = true; got neither'),
    (("odds = 20", "silent = false"), r'"odds": expected either odds or silent = true; got neither'),
    (("odds = 20", "odds = 20\n  silent = true"), r'"odds": expected either .*; got both'),
    (("odds = 20", "odds = 0"), r'"odds": expected a number above 0'),
    (("odds = 20", 'silent = "yes"'), r'"silent": expected true or false'),
    (("odds = 20", 'odds = 20\n  to = "1950-01"'), r'"to": .*belongs to another kind of point'),
]  # fmt: skip
_PATHS = [
    "../x.svg",
    "a/b.svg",
    "/etc/x.svg",
    "a\\\\b.svg",
    "c:x.svg",
    "x.gif",
    "x",
    "..svg",
    ".x.svg",
]


def _numbered(rows: list[tuple[tuple[str, str], str]]) -> list[object]:
    return [pytest.param(*row, id=f"{n}-{row[0][1][:20]}") for n, row in enumerate(rows)]


@pytest.mark.parametrize(("change", "message"), _numbered(TOP + POINTS + VARIANTS))
def test_each_fault_is_the_only_one_and_says_all(change: tuple[str, str], message: str) -> None:
    """One slip gives one fault: place, what was expected, what came, what to do."""
    (fault,) = sample.faults_in(sample.changed(change))
    assert re.search(message, fault)


@pytest.mark.parametrize("name", _PATHS)
def test_pictures_are_bare_names(name: str) -> None:
    """A picture's name can't lead anywhere but beside the file."""
    text = sample.changed(('picture = "screw-cross.svg"', f'picture = "{name}"'))
    (fault,) = sample.faults_in(text, {**sample.PICTURES, name: sample.SVG})
    assert fault.startswith(
        f'x.toml, {_CROSS.replace(chr(92), "")}, key "picture": expected the name'
    )


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
    order = ['"id"', '"covers"', '"kind"', '"changed_with"', '"picture"', '"gives"', '"mean"', '"last"', '"bears_on"', '"odds"']  # fmt: skip
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


def test_every_fault_says_what_to_do() -> None:
    """No row of the tables leaves the writer without a next step."""
    for change, message in TOP + POINTS + VARIANTS:
        with pytest.raises(ReferenceFaultsError, match=message) as caught:
            sample.read(sample.changed(change))
        for fault in caught.value.faults:
            assert fault.expected
            assert fault.came
            assert fault.remedy.endswith((".", "?"))
