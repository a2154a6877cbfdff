"""Marks on parts and labels, and postal forms."""

import re
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from quickcheck.errors import ReadingError
from quickcheck.readings import Reading, read_text
from quickcheck.readings.marks import check_digit_fits, intersection
from quickcheck.readings.tables import rows

SCHEMES = ("mark", "postal-us")


def found(scheme: str, text: str) -> list[str]:
    """Return the marks that were found, by their names in the table."""
    meanings = read_text(scheme, text).meanings
    return list(dict.fromkeys(str(dict(meaning.more)["mark"]) for meaning in meanings))


def bounds(scheme: str, text: str) -> tuple[str | None, str | None]:
    reading = read_text(scheme, text).as_json()
    return reading["floor"], reading["ceiling"]  # type: ignore[return-value]


MARKS = [
    ("Made in Italy", ["country"]),
    ("MADE IN JAPAN", ["country"]),
    ("Made in Nippon", ["country", "nippon"]),
    ("MADE IN\nOCCUPIED JAPAN", ["country", "occupied-japan"]),
    ("Germany, U.S. Zone", ["us-zone"]),
    ("Made in U.S. Zone Germany", ["country", "us-zone"]),
    ("People’s Republic of China", ["china"]),
    ("Made in P.R.C.", ["country", "china"]),
    ("W. Germany", ["west-germany"]),
    ("Made in West-Germany", ["country", "west-germany"]),
    ("Western Germany", ["west-germany"]),
    ("Czechoslovakia", ["czechoslovakia"]),
    ("Made in U.S.S.R.", ["country", "ussr"]),
    ("Republic of Korea", ["korea"]),
    ("Made in U.S.A.", ["usa"]),
    ("MADE IN U. S. A.", ["usa"]),
    ("Made in the United States of America", ["usa"]),
    ("(312) 555-0123", ["area-code", "all-digits"]),
    ("312.555.0123", ["area-code", "all-digits"]),
    ("312/555-0123", ["area-code", "all-digits"]),
    ("555-0123", ["all-digits"]),
    ("HArbor 5-0123", ["exchange"]),
    ("HA5-0123", ["exchange"]),
    ("Tel. HARbor 0123", ["exchange"]),
    ("1-800-555-0123", ["all-digits", "toll-free"]),
    ("(800) 555-0123", ["all-digits", "toll-free"]),
    ("888 555 0123", ["toll-free-888"]),
    ("Tuner ®", ["circled-r"]),
    ("Tuner Ⓡ", ["circled-r"]),
    ("(R)", ["circled-r"]),
    ("Reg. U.S. Pat. Off.", ["reg-pat-off"]),
    ("REGISTERED U.S. PATENT OFFICE", ["reg-pat-off"]),
    ("Reg. U.S. Pat. & Tm. Off.", ["reg-pat-tm-off"]),
    ("Reg'd U.S. Pat. and Trademark Office", ["reg-pat-tm-off"]),
    ("PAT. PEND.", ["pending"]),
    ("Pat. Appl'd For", ["pending"]),
    ("Patent applied for", ["pending"]),
    ("Pat. No. 2,524,035", ["patent-number"]),
    ("UPC", ["upc"]),
    ("0 36000 29145 2", ["upc-digits"]),
    ("036000291452", ["upc-digits"]),
    ("EAN-13", ["ean"]),
    ("4006381333931", ["ean-digits"]),
    ("CE", ["ce"]),
    ("crossed-out wheeled bin", ["wheeled-bin"]),
    ("RoHS", ["rohs"]),
    ("LEAD FREE", ["rohs"]),
    ("FCC ID", ["fcc"]),
    ("www.example.com", ["web"]),
    ("https://example.org", ["web"]),
]
POSTAL = [
    ("Springfield 7, Ill.", ["zone"]),
    ("Springfield 12, ILLINOIS", ["zone"]),
    ("New York 16, N. Y.", ["zone"]),
    ("Springfield (7) Ill.", ["zone"]),
    ("Springfield, Ill. 62701", ["zip"]),
    ("Springfield, Illinois 62701", ["zip"]),
    ("Springfield, IL 62701", ["zip", "two-letters"]),
    ("Springfield, IL", ["two-letters"]),
    ("Springfield, IL 62701-1234", ["zip", "zip-4", "two-letters"]),
    ("Lincoln, NB 68501", ["nb"]),
    ("Lincoln, NE 68501", ["zip", "two-letters", "ne"]),
    ("Lincoln NE 68501", ["zip", "two-letters", "ne"]),
]


@pytest.mark.parametrize(("text", "names"), MARKS)
def test_marks_are_found(text: str, names: list[str]) -> None:
    """In capitals or not, with stops or without, each mark and no other."""
    assert found("mark", text) == names


@pytest.mark.parametrize(("text", "names"), POSTAL)
def test_postal_forms_are_found(text: str, names: list[str]) -> None:
    """Zone, ZIP, its four digits more, two letters, and the two of Nebraska."""
    assert found("postal-us", text) == names


def test_every_mark_of_the_table_is_tried() -> None:
    """No row stands in the table without a text that it was found in."""
    tried = {name for _, names in (*MARKS, *POSTAL) for name in names}
    assert tried == {row["id"] for row in rows("marks")}


@pytest.mark.parametrize("row", rows("bounds"), ids=lambda row: f"{row['mark']} {row['bound']}")
def test_every_bound_belongs_to_a_mark(row: dict[str, str]) -> None:
    """A bound has a day where it bounds, and its mark is in the table."""
    assert row["mark"] in {mark["id"] for mark in rows("marks")}
    assert bool(row["date"]) == (row["bound"] not in {"rule", "none"})


@pytest.mark.parametrize(
    ("scheme", "text", "floor", "ceiling"),
    [
        # source and status of each: tables/bounds.csv
        ("mark", "Made in Occupied Japan", "1947-02-20", "1952-04-28"),  # reported
        ("mark", "W. Germany", "1949-05-23", "1990-10-03"),  # memory
        ("mark", "W. Germany ®", "1949-05-23", "1990-10-03"),
        ("mark", "Germany, U.S. Zone, (R)", "1947-07-05", "1949-12-31"),  # R: day from memory
        ("mark", "Made in Japan", None, None),
        ("mark", "Made in U.S.A.", None, None),
        ("mark", "Pat. pending", None, None),
        ("mark", "0 36000 29145 2", "1973-04-03", None),  # reported
        ("postal-us", "Springfield 7, Ill.", "1943-05-01", None),  # year checked
        ("postal-us", "Springfield, IL", None, None),
        ("postal-us", "Springfield, IL 62701", "1963-07-01", None),  # checked
        ("postal-us", "Springfield, IL 62701-1234", "1983-01-01", None),  # checked
        ("postal-us", "Lincoln, NB", None, "1969-11-30"),  # checked
        ("postal-us", "Lincoln, NE 68501", "1969-11-01", None),  # checked
    ],
)
def test_hard_bounds_hold_together(
    scheme: str, text: str, floor: str | None, ceiling: str | None
) -> None:
    """The latest floor and the earliest ceiling; what is only usual bounds nothing."""
    assert bounds(scheme, text) == (floor, ceiling)


def test_what_is_usual_is_told() -> None:
    """A soft bound has its day and its words, is not hard, and bounds nothing."""
    (usual, _) = read_text("mark", "Made in Italy").meanings
    assert usual.first == date(1891, 3, 1)
    assert dict(usual.more)["hard"] is False
    said = read_text("mark", "Made in Italy").says
    assert said.startswith(
        "That bounds nothing. Country of origin in English: usual from 1 Mar 1891"
    )
    assert said.endswith("A mark that is missing is no evidence.")
    assert "This bounds the part" not in said


def test_marks_that_no_day_has_together() -> None:
    """The reading says so, and gives both bounds all the same."""
    reading = read_text("mark", "Made in Occupied Japan, www.example.com")
    assert reading.says.startswith("No day fits all of these")
    assert (reading.floor, reading.ceiling) == (date(1993, 1, 1), date(1952, 4, 28))


def test_a_bounded_part_is_no_bounded_instrument() -> None:
    """Both bounds, and of what."""
    said = read_text("mark", "Made in Occupied Japan").says
    assert said.startswith(
        "The part is said to be no older than 20 Feb 1947 and no younger than 28 Apr 1952. "
        "This bounds the part, never the instrument."
    )
    assert "(every export article was to be so marked; reported by others)" in said
    only = read_text("postal-us", "Lincoln, NB").says
    assert only.startswith("The part is no younger than 30 Nov 1969. This bounds the part")


@pytest.mark.parametrize(
    ("scheme", "text"),
    [
        ("mark", ""),
        ("mark", "Tuner"),
        ("mark", "0 36000 29145 3"),
        ("mark", "since 1946"),
        ("mark", "No. 1234"),
        ("mark", "Nicer"),
        ("postal-us", "Springfield, Ill."),
        ("postal-us", "MADE OR SOLD IN SPRINGFIELD"),
        ("postal-us", "12 Elm Street"),
        ("postal-us", "Serial 62701"),
    ],
)
def test_other_texts_are_refused(scheme: str, text: str) -> None:
    """What has no mark of the table is refused with the list."""
    with pytest.raises(ReadingError, match="mark: expected one of these: "):
        read_text(scheme, text)


@pytest.mark.parametrize("digits", ["036000291452", "4006381333931", "9780306406157"])
def test_check_digits(digits: str) -> None:
    """Codes printed in public examples fit (GS1; ISBN 978-0-306-40615-7), and no other digit does."""
    assert [last for last in range(10) if check_digit_fits(digits[:-1] + str(last))] == [
        int(digits[-1])
    ]


@given(st.lists(st.tuples(st.dates(), st.dates())), st.lists(st.dates()))
def test_an_intersection_is_inside_each(pairs: list[tuple[date, date]], floors: list[date]) -> None:
    """A day is inside it if it is inside all; open ends bound nothing."""
    low, high = intersection(
        [*floors, *(a for a, _ in pairs), None], [None, *(b for _, b in pairs)]
    )
    for day in [day for pair in pairs for day in pair] + floors:
        inside = all(a <= day <= b for a, b in pairs) and all(floor <= day for floor in floors)
        assert inside == ((low is None or low <= day) and (high is None or day <= high))


@given(st.sampled_from(SCHEMES), st.text(max_size=200))
def test_any_text_is_read_or_refused(scheme: str, text: str) -> None:
    """Nothing but a reading or a refusal comes out."""
    try:
        reading = read_text(scheme, text)
    except ReadingError:
        return
    assert isinstance(reading, Reading)
    assert reading.sources
    assert not re.search(r"\bfake|authentic", reading.says)
