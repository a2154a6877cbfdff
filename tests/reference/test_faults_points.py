"""Faults of points: one small change to the example, and its message."""

import pytest

from tests.reference import sample

_SCREWS = r'point "plate-screws"'
_POINT_END = 'caution = "Do not try a screw that is painted over."'


def _screws(line: str) -> tuple[str, str]:
    """Return the change that adds a line to the first point."""
    return _POINT_END, f"{_POINT_END}\n{line}"


FAULTS = [
    (
        ('id = "plate-screws"', 'id = "serial"'),
        r'point "serial", key "id": expected an id used once; got "serial" again',
    ),
    (
        ('id = "plate-screws"', 'id = "other"'),
        r'point "other", key "id": expected .* not "other", which stands for',
    ),
    (('id = "plate-screws"\n', ""), r'point 1, key "id": expected .*got nothing'),
    (('id = "plate-screws"', 'id = ""'), r'point 1, key "id": expected'),
    (
        ('area = "screws"', 'area = "screw"'),
        rf'{_SCREWS}, key "area": expected one of hardware, screws',
    ),
    (
        ('kind = "pick"', 'kind = "choose"'),
        (
            rf'{_SCREWS}, key "kind": expected one of pick, measure, serial, datecode, '
            rf'sign; got "choose"'
        ),
    ),
    (('kind = "pick"\n', ""), rf'{_SCREWS}, key "kind": .*got nothing'),
    (('kind = "pick"', "kind = ['pick']"), rf'{_SCREWS}, key "kind": expected one of'),
    (_screws('assembly = "wing"'), rf'{_SCREWS}, key "assembly": expected one of neck, body'),
    (_screws('place = "top"'), rf'{_SCREWS}, key "place": expected one of front, headstock'),
    (_screws('access = "touch"'), rf'{_SCREWS}, key "access": expected one of look, handle, open'),
    (
        ('tools = ["lamp"]', 'tools = "lamp"'),
        rf'{_SCREWS}, key "tools": expected a list of 0 to 100',
    ),
    (('tools = ["lamp"]', 'tools = ["lamp", "lamp"]'), rf'{_SCREWS}, key "tools": .*none twice'),
    (('tools = ["lamp"]', 'tools = ["UV lamp"]'), rf'{_SCREWS}, key "tools": .*each a to z'),
    (
        ("minutes = 0.3", "minutes = 0"),
        rf'{_SCREWS}, key "minutes": expected a number above 0, at most 600; got "0"',
    ),
    (("minutes = 0.3", "minutes = -1"), rf'{_SCREWS}, key "minutes"'),
    (("changed = 0.08", "changed = 0"), rf'{_SCREWS}, key "changed": expected a number above 0'),
    (("changed = 0.08", "changed = 1"), rf'{_SCREWS}, key "changed": .*below 1; got "1"'),
    (
        ("changed = 0.08", 'changed = "8 %"'),
        rf'{_SCREWS}, key "changed": .*got "8 %"\. Write a number',
    ),
    (("changed = 0.08", f"changed = {'9' * 400}"), r"a number beyond all measure"),
    (_screws("other = 0"), rf'{_SCREWS}, key "other": expected a number above 0'),
    (
        ('changed_with = "hardware"', 'changed_with = "hardwear"'),
        (
            rf'{_SCREWS}, key "changed_with": expected a declared set \(hardware\); got '
            rf'"hardwear"\. Write \[set\.hardwear\]'
        ),
    ),
    (
        ('changed_with = "hardware"', 'changed_with = "codes"'),
        rf'{_SCREWS}, key "changed_with": expected a set other than the one of all date codes',
    ),
    (
        ('source = ["ledger"]', 'source = ["leger"]'),
        rf'{_SCREWS}, key "source": expected declared sources \(ledger, practice\); got "leger"',
    ),
    (('source = ["ledger"]', "source = []"), rf'{_SCREWS}, key "source": expected a list of 1'),
    (
        _screws("other_if_changed = 0.1"),
        (
            rf'{_SCREWS}, key "other_if_changed": expected if_changed on the variants as '
            rf"well; got it alone"
        ),
    ),
    (
        ('id = "cross"', 'id = "cross"\n  if_changed = 0'),
        rf'{_SCREWS}, key "seen": expected if_changed weights that do not add up to 0; got 1 of 0',
    ),
    (_screws('unit = "in"'), rf'{_SCREWS}, key "unit": .*belongs to another kind of point'),
    (_screws("sene = 3"), rf'{_SCREWS}, key "sene": .*Did you mean "seen"\?'),
    (
        ('unit = "in"\n', ""),
        r'point "neck-depth-1", key "unit": expected one of in, mm.*got nothing',
    ),
    (('unit = "in"', 'unit = "inch"'), r'point "neck-depth-1", key "unit": .*got "inch"'),
    (("span = [0.70, 1.10]\n", ""), r'point "neck-depth-1", key "span": expected two numbers'),
    (
        ("span = [0.70, 1.10]", "span = [1.10, 0.70]"),
        r'"span": expected the lower number first; got \[1\.1, 0\.7\]',
    ),
    (("span = [0.70, 1.10]", "span = [0.70, inf]"), r'"span": expected'),
    (("span = [0.70, 1.10]", "span = 1"), r'"span": expected two numbers'),
    (("tolerance = 0.006", "tolerance = -1"), r'"tolerance": expected a number from 0'),
    (
        ('pattern = "[0-9]{3,4}"\n', ""),
        r'point "serial", key "pattern": expected a pattern in quotes; got nothing',
    ),
    (
        ('pattern = "[0-9]{3,4}"', 'pattern = "[0-9"'),
        r'point "serial", key "pattern": expected signs and a',
    ),
    (
        ('pattern = "[0-9]{3,4}"', "pattern = 3"),
        r'point "serial", key "pattern": expected a pattern in qu',
    ),
    (
        ('scheme = "year-week"\n', ""),
        r'point "volume-pot", key "scheme": expected one of year-week',
    ),
    (
        ('scheme = "year-week"', 'scheme = "week-year"'),
        r'"scheme": expected one of year-week, source-week, date-stamp; got "week-year"',
    ),
    (
        ('scheme = "year-week"', 'scheme = "patent-us"'),
        r'"scheme": expected one of year-week, source-week, date-stamp; got "patent-us"',
    ),
    (
        ('scheme = "year-week"', 'scheme = "year-week"\nchanged_with = "hardware"'),
        r'point "volume-pot", key "changed_with": expected a key',
    ),
    (
        ('scheme = "year-week"', 'scheme = "year-week"\nseen = []'),
        r'point "volume-pot", key "seen": .*belongs to another kind',
    ),
    (('bears_on = ["area:neck"]\n', ""), r'point "neck-signs", key "bears_on": expected a list'),
    (('bears_on = ["area:neck"]', "bears_on = []"), r'"bears_on": expected a list of 1 to 100'),
    (
        ('bears_on = ["area:neck"]', 'bears_on = ["area:decal"]'),
        (
            r'"bears_on": expected ids of points, "area:…" or "assembly:…"; got '
            r'"area:decal", which selects no point'
        ),
    ),
    (
        ('bears_on = ["area:neck"]', 'bears_on = ["neck-signs"]'),
        r'"neck-signs", which selects no point',
    ),
    (
        ('bears_on = ["area:neck"]', 'bears_on = ["colour:neck"]'),
        r'"colour:neck", which selects no',
    ),
    (('bears_on = ["area:neck"]', 'bears_on = ["neck*"]'), r'"neck\*", which selects no point'),
    (("many = true", "many = 1"), r'"many": expected true or false; got "1"'),
]


@pytest.mark.parametrize(("change", "message"), sample.numbered(FAULTS))
def test_each_fault_is_the_only_one_and_says_all(change: tuple[str, str], message: str) -> None:
    """One slip gives one fault: place, what was expected, what came, what to do."""
    sample.assert_one_fault(change, message)
