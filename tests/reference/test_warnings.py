"""Warnings: told to the author, never held against the file."""

import pytest

from tests.reference import sample

_LOOM = 'from = "1956-10"\n  to = "1962-01"'


@pytest.mark.parametrize(
    ("change", "warnings"),
    [
        (
            ('from = "1956-10"', 'from = "1957-01"'),
            ['point "plate-screws": no variant in Oct–Dec 1956'],
        ),
        (
            ('from = "1956-10"', 'from = "1956-08"'),
            ['point "plate-screws": more than one variant in Aug–Sep 1956'],
        ),
        (
            ('to = "1956-09"', 'to = "1949-12"'),
            [
                'point "plate-screws": no variant in Jan 1950–Sep 1956',
                'point "plate-screws": variant "cross" is fitted in no month covered',
            ],
        ),
        (
            ("last = 640", "last = 650"),
            ['point "serial": variants "block-1" and "block-2" both hold number 641'],
        ),
        (('source = ["ledger"]\n', ""), ['point "plate-screws": no source is named']),
        (('caution = "Unplug', 'zone = "Unplug'), None),
        (('changed_with = "hardware"\n', ""), ['set "hardware": no point is in it']),
        (
            ('"1952" = 380', '"1949" = 380'),
            ['output "1949": outside the months covered, so it counts for nothing'],
        ),
        ((_LOOM, 'shares = [["1956-10", 1], ["1962-01", 1]]'), []),
        (
            (_LOOM, 'shares = [["1956-06", 0], ["1956-12", 0.9], ["1962-01", 0]]'),
            ['point "plate-screws": no variant in Jan 1962'],
        ),
        (
            (_LOOM, 'shares = [["1956-06", 0], ["1956-12", 0], ["1957-03", 0.9]]'),
            ['point "plate-screws": no variant in Oct–Dec 1956'],
        ),
        ((_LOOM, 'shares = [["1957-01", 0.5]]'), []),
    ],
)
def test_each_warning(change: tuple[str, str], warnings: list[str] | None) -> None:
    """One oddity gives its own line, in words, and the file is read."""
    if warnings is None:
        assert sample.faults_in(sample.changed(change))
        return
    assert list(sample.read(sample.changed(change)).warnings) == warnings


def test_sources_on_all_variants_are_enough() -> None:
    """A point may leave its sources to its variants."""
    text = sample.changed(('source = ["ledger"]\n', ""))
    for name in ("cross", "loom", "slot"):
        text = text.replace(f'id = "{name}"', f'id = "{name}"\n  source = ["ledger"]')
    assert sample.read(text).warnings == ()


def test_a_date_code_without_a_source_is_warned_of() -> None:
    """A point without variants has only its own sources."""
    at = sample.example().index('source = ["practice"]')
    text = sample.example()[:at] + sample.example()[at + len('source = ["practice"]') :]
    assert sample.read(text).warnings == ('point "volume-pot": no source is named',)


def test_the_set_of_date_codes_is_used_by_date_codes() -> None:
    """Its rate may be declared without any point naming it; without date codes it is idle."""
    text = sample.changed(("[set.hardware]", "[set.codes]\nchanged = 0.1\n\n[set.hardware]"))
    assert sample.read(text).warnings == ()
    no_codes = text.replace('kind = "datecode"', 'kind = "serial"\npattern = "[0-9]+"')
    no_codes = no_codes.replace('scheme = "year-week"\n', "")
    no_codes = no_codes.replace(
        '[[point]]\nid = "neck-signs"',
        '[[point.seen]]\nid = "any"\nfirst = 1\nlast = 9\n[[point]]\nid = "neck-signs"',
    )
    assert sample.read(no_codes).warnings == ('set "codes": no point is in it',)
