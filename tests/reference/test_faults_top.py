"""Faults at the top of the file: one small change to the example, and its message."""

import pytest

from tests.reference import sample

FAULTS = [
    (
        ("format = 1\n", ""),
        r'key "format": expected 1, the format that this software reads; got not',
    ),
    (
        ("format = 1", "format = 2"),
        r'key "format": expected 1,.*got "2"\. Write format = 1, or use',
    ),
    (("format = 1", "format = true"), r'key "format": expected 1,.*got true'),
    (("format = 1", 'format = "1"'), r'key "format": expected 1,'),
    (
        ('id = "hobbinsley-poplin"', 'id = "Poplin"'),
        r'"id": expected a to z.*got "Poplin"\. Rename',
    ),
    (('id = "hobbinsley-poplin"', 'id = "a--b"'), r'key "id": expected a to z, 0 to 9 and single'),
    (('id = "hobbinsley-poplin"', f'id = "{"a" * 65}"'), r'key "id": expected .*at most 64 signs'),
    (('id = "hobbinsley-poplin"', "id = 7"), r'key "id": expected .*; got "7"'),
    (('edition = "2026-11"', 'edition = " "'), r'key "edition": expected text in quotes, 1 to 40'),
    (
        ('edition = "2026-11"', "edition = 2026-11-25"),
        r'key "edition": .*got 2026-11-25 without quo',
    ),
    (('licence = "CC0-1.0"\n', ""), r'key "licence": expected text.*got nothing\. Write it'),
    (('title = "Hob', 'title = "\\u0000Hob'), r'key "title": expected text'),
    (('title = "Hob', 'title = "\\u202eHob'), r'key "title": expected text'),
    (
        ('author = "Fettle & Daughter (invented)"', f'author = "{"x" * 201}"'),
        r"1 to 200 characters",
    ),
    (
        ('["1950-01", "1965-12"]', '["1965-12", "1950-01"]'),
        r'"covers": expected the earlier month first; got 1965-12 to 1950-01\. Turn them round',
    ),
    (('["1950-01", "1965-12"]', '["1900-01", "2000-01"]'), r'"covers": expected at most 100 years'),
    (('["1950-01", "1965-12"]', '["1950", "1965-12"]'), r'"covers": expected a month from 1800-01'),
    (('["1950-01", "1965-12"]', '["1950-01"]'), r'"covers": expected two months in quotes'),
    (('["1950-01", "1965-12"]', '"1950"'), r'"covers": expected two months in quotes'),
    (('["1950-01", "1965-12"]', "[1950, 1965]"), r'"covers": expected two months in quotes'),
    (
        ('outline = "solid"', 'outline = "round"'),
        r'"outline": expected one of solid, bass, archtop, f',
    ),
    (
        ('outline = "solid"', 'outline = "o.svg"'),
        r'"outline": expected a picture of that name.*o\.svg: no such file\. Put it there',
    ),
    (('outline = "solid"', "outline = 3"), r'"outline": expected one of solid'),
    (('outline = "solid"', "kappa = 0.4"), r'"kappa": expected a number from 0\.5 to 3'),
    (('outline = "solid"', "kappa = nan"), r'"kappa": expected a number from 0\.5 to 3; got "nan"'),
    (('outline = "solid"', "kappa = true"), r'"kappa": expected a number.*got true'),
    (
        ('outline = "solid"', 'outlin = "solid"'),
        r'"outlin": expected a key of the format; got "outlin"\. Did you mean "outline"\?',
    ),
    (('outline = "solid"', "zzz = {}"), r'"zzz": .*Remove it\. Known here: format, id, title'),
    (('"1952" = 380', '"1952" = 0'), r'"output": expected years or months in quotes.*got a table'),
    (('"1952" = 380', '"1952-13" = 1'), r'"output": expected a month from'),
    (('"1952" = 380', '"52" = 1'), r'"output": expected years or months'),
    (('"1952" = 380', '"1952" = "many"'), r'"output": expected years or months'),
    (
        ('kind = "document"', 'kind = "hearsay"'),
        (
            r'source "ledger", key "kind": expected one of document, census, published, '
            r'common-practice, memory; got "hearsay"'
        ),
    ),
    (
        ('title = "Wage ledger, transcribed (invented)"\n', ""),
        r'source "ledger", key "title": .*nothing',
    ),
    (
        ("[output]", '[source.Ledger]\ntitle = "x"\nkind = "memory"\n[output]'),
        r'source "Ledger": expected a name of a to z',
    ),
    (
        ("[output]", "[set.hard_ware]\nchanged = 0.1\n[output]"),
        r'set "hard_ware": expected a name of a to z',
    ),
    (
        ("changed = 0.05\n", ""),
        r'set "hardware", key "changed": expected a number above 0 and below 1; got nothing',
    ),
]


@pytest.mark.parametrize(("change", "message"), sample.numbered(FAULTS))
def test_each_fault_is_the_only_one_and_says_all(change: tuple[str, str], message: str) -> None:
    """One slip gives one fault: place, what was expected, what came, what to do."""
    sample.assert_one_fault(change, message)
