"""Faults of variants: one small change to the example, and its message."""

import pytest

from tests.reference import sample

_SCREWS = r'point "plate-screws"'
_CROSS = r'point "plate-screws", variant "cross"'
_KNOTS = 'from = "1956-10"\n  to = "1962-01"'

FAULTS = [
    (('id = "loom"', 'id = "cross"'), rf'{_CROSS}, key "id": expected an id used once'),
    (('id = "cross"', 'id = "other"'), r'variant "other", key "id": expected .* not "other"'),
    (('  id = "cross"\n', ""), rf'{_SCREWS}, variant 1, key "id": .*got nothing'),
    (('label = "Cross recess"\n', ""), rf'{_CROSS}, key "label": .*got nothing'),
    (
        ('to = "1956-09"', "to = 1956-09-01"),
        (
            rf'{_CROSS}, key "to": expected a month in quotes, like "1954-03"; got '
            rf"1956-09-01 without quotes\. Put quotes"
        ),
    ),
    (('to = "1956-09"', 'to = "1956-9"'), rf'{_CROSS}, key "to": expected a month from 1800-01'),
    (
        ('from = "1956-10"', 'from = "1962-02"'),
        (
            r'variant "loom", key "to": expected a last month not before the first; got '
            r"1962-02 to 1962-01"
        ),
    ),
    (("give = 3", "give = -1"), rf'{_CROSS}, key "give": expected a number from 0 to 600'),
    (("give = 3", "share = 0"), rf'{_CROSS}, key "share": expected a number above 0'),
    (("give = 3", 'note = ""'), rf'{_CROSS}, key "note": expected text'),
    (("give = 3", 'source = ["x"]'), rf'{_CROSS}, key "source": expected declared sources'),
    (("give = 3", "mean = 3"), rf'{_CROSS}, key "mean": .*belongs to another kind'),
    (("give = 3", 'lable = "x"'), rf'{_CROSS}, key "lable": .*Did you mean "label"\?'),
    (
        (_KNOTS, _KNOTS + '\n  shares = [["1956-06", 0.1]]'),
        r'variant "loom", key "shares": expected shares without edges; got from, to as well',
    ),
    (
        (_KNOTS, 'shares = [["1956-12", 0.1], ["1956-06", 1]]'),
        r'"shares": expected months that rise; got "1956-12, 1956-06"',
    ),
    (
        (_KNOTS, 'shares = [["1956-06", 0.1], ["1956-06", 1]]'),
        r'"shares": expected months that rise',
    ),
    ((_KNOTS, 'shares = [["1956-06", 0]]'), r'"shares": expected a share above 0 in some month'),
    ((_KNOTS, 'shares = [["1956-06", -1]]'), r'"shares": expected'),
    ((_KNOTS, "shares = []"), r'"shares": expected a list of pairs'),
    ((_KNOTS, 'shares = "late"'), r'"shares": expected a list of pairs'),
    ((_KNOTS, 'shares = [["1956-06"]]'), r'"shares": expected a list of pairs'),
    ((_KNOTS, 'shares = [["June", 1]]'), r'"shares": expected a month from'),
    (("mean = 0.94\n", ""), r'point "neck-depth-1", variant "club", key "mean": .*got nothing'),
    (("spread = 0.02\n", ""), r'variant "club", key "spread": .*got nothing'),
    (
        ("mean = 0.94", "mean = 94"),
        r'variant "club", key "mean": expected a mean inside the span, 0\.7 to 1\.1; got 94',
    ),
    (
        ("first = 641", "first = 9801"),
        r'variant "block-2", key "last": expected a last number from 9801',
    ),
    (
        ("first = 641\n", ""),
        r'variant "block-2", key "first": expected a whole number.*got nothing',
    ),
    (("first = 641", "first = 6.5"), r'"first": expected a whole number'),
    (("first = 641", "first = -1"), r'"first": expected a whole number'),
    (("first = 641", "first = false"), r'"first": expected a whole number'),
    (
        ('pattern = "[0-9]{3,4}"', 'pattern = "9[0-9]{3}"'),
        (
            r'variant "block-1", key "first": expected numbers that fit the pattern '
            r'"9\[0-9\]\{3\}"; got 101 to 640, of which none does'
        ),
    ),
    (
        ("odds = 20\n", ""),
        r'variant "new-finish", key "odds": expected either odds or silent = true; got neither',
    ),
    (
        ("odds = 20", "silent = false"),
        r'"odds": expected either odds or silent = true; got neither',
    ),
    (("odds = 20", "odds = 20\n  silent = true"), r'"odds": expected either .*; got both'),
    (("odds = 20", "odds = 0"), r'"odds": expected a number above 0'),
    (
        ("odds = 20", "odds = 20\n  border = true"),
        r'"border": expected border = true beside odds = 1; got odds = 20. A material .* odds = 1',
    ),
    (
        ("odds = 20", "silent = true\n  border = true"),
        r'"border": expected border = true beside odds = 1; got silent = true',
    ),
    (("odds = 20", 'silent = "yes"'), r'"silent": expected true or false'),
    (("odds = 20", 'odds = 20\n  to = "1950-01"'), r'"to": .*belongs to another kind of point'),
]


@pytest.mark.parametrize(("change", "message"), sample.numbered(FAULTS))
def test_each_fault_is_the_only_one_and_says_all(change: tuple[str, str], message: str) -> None:
    """One slip gives one fault: place, what was expected, what came, what to do."""
    sample.assert_one_fault(change, message)


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


@pytest.mark.parametrize("name", _PATHS)
def test_pictures_are_bare_names(name: str) -> None:
    """A picture's name can't lead anywhere but beside the file."""
    text = sample.changed(('picture = "screw-cross.svg"', f'picture = "{name}"'))
    (fault,) = sample.faults_in(text, {**sample.PICTURES, name: sample.SVG})
    assert fault.startswith(
        f'x.toml, {_CROSS.replace(chr(92), "")}, key "picture": expected the name'
    )
