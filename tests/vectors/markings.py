"""Texts as people type them off parts and gauges: for every way of reading, some right, some wrong."""

import random
from collections.abc import Callable, Sequence

from quickcheck.readings.tables import rows

WORDS = (
    *("Made in Italy", "MADE IN\nOCCUPIED JAPAN", "Made in Nippon", "Germany, U.S. Zone", "RoHS"),
    *("Made in U.S. Zone Germany", "People’s Republic of China", "Made in P.R.C.", "W. Germany"),
    *("Western-Germany", "Czecho-Slovakia", "Made in U.S.S.R.", "Republic of Korea", "LEAD FREE"),
    *("Made in U. S. A.", "(312) 555-0123", "312.555.0123", "555-0123", "HArbor 5-0123", "CE"),
    *("Tel. HARbor 0123", "1-800-555-0123", "888 555 0123", "Tuner ®", "Ⓡ", "(R)", "UPC", "FCC ID"),
    *("Reg. U.S. Pat. Off.", "Reg'd U.S. Pat. & Tm. Off.", "PAT. PEND.", "Pat. Appl‘d For"),
    *("Pat. No. 2,524,035", "0 36000 29145 2", "0 36000 29145 3", "4006381333931", "EAN-13"),
    *("crossed-out wheeled bin", "www.example.com", "https://example.org", "Straße", "İ", "–"),
)
CITIES = ("Springfield", "New York", "Lincoln", "St. Paul", "Mo")
BEFORE = (
    "PAT. ",
    "Pat. No. ",
    "DES. ",
    "U.S. PAT. D",
    "D",
    "",
    "RE",
    "Reg. U.S. Pat. Off. ",
    "Br. ",
)
ENDS = ("mm", "in", '"', "cm", "", "kohm", "k", "Ω", "Ω", "ohm", "lb", "oz", "kg", "g", " kΩ")


def number(choose: random.Random) -> str:
    """Return a number as it may be written."""
    whole = choose.randint(0, 9999)
    return choose.choice(
        [f"{whole}", f"{whole / 10:.1f}", f"{whole / 100:.3f}".replace(".", ","), f"{whole} 3/16"]
    )


def _mark(choose: random.Random) -> str:
    count = choose.choice([1, 1, 2, 3])
    return choose.choice([" ", ", ", "\n", " "]).join(choose.choices(WORDS, k=count))


def _postal(choose: random.Random) -> str:
    row = choose.choice(rows("states"))
    spelt = choose.choice([row["code"], row["name"], row["name"].upper(), *row["older"].split(";")])
    zone = choose.choice(["", " 7", " (12)", " 100"])
    after = choose.choice(["", " 62701", " 62701-1234", ", 62701", " 627"])
    return f"{choose.choice(CITIES)}{zone}{choose.choice([', ', ' ', ','])}{spelt}{after}"


def _patent(choose: random.Random) -> str:
    row = choose.choice(rows("patents"))
    figure = int(row["first"]) + choose.choice([-1, 0, 1, 999, -999])
    written = choose.choice([f"{figure:,}", f"{figure}", f"{figure:,},0", f"{figure % 10000}"])
    more = choose.choice(["", "", " & 2,524,035", " RE 23,123", " pat. pend.", ", Can. 412345"])
    return choose.choice(BEFORE) + written + more


def _scale(choose: random.Random) -> str:
    fret = choose.choice(["12", "12th", "fret 7:", "7 ", "36", "22nd =", "1st fret", "37", ""])
    length = choose.choice(["323.85 mm", "12 3/4 in", '7 1/8"', "215,4mm", "1,250 mm", "9 stone"])
    far = choose.choice([length, f"{number(choose)}{choose.choice(['mm', ' in', ' mm'])}"])
    return f"{fret} {far}"


def _resistance(choose: random.Random) -> str:
    size = choose.choice(
        [f"{choose.randint(1, 160) / 10}k", f"{number(choose)}{choose.choice(ENDS)}"]
    )
    heat = choose.choice(
        [" 27C", " at 68 °F", " @ 20,5 C", " -5c", " 70 F", "", " 99 C", ", 23deg C"]
    )
    wire = choose.choice(["", " 42AWG", ", AWG 40", " 43 gauge", " 60 AWG", " 42 ga"])
    turn = choose.choice(["", "", " 145mm", ", 5 3/4 in a turn", " 150 mm per turn", " 0 mm"])
    pieces = [size, heat, wire, turn]
    if choose.random() < 0.2:
        choose.shuffle(pieces)
    return "".join(pieces)


def _weight(choose: random.Random) -> str:
    pounds = f"{choose.randint(1, 20)} lb {choose.choice(['4', '4.05', '8 1/2', '15.95', '16'])} oz"
    weight = choose.choice([pounds, pounds, f"{number(choose)}{choose.choice(ENDS)}", "8.25 oz"])
    return weight + choose.choice(["", "", " 30%", ", at 45,5 % RH", " @ 99%", " 30 % dry", " 5%"])


def _code(choose: random.Random) -> str:
    symbol = choose.choice(rows("parts"))["symbol"]
    return f"{symbol}{choose.choice(['', '-', ' '])}{choose.randint(0, 9999)}"


def _stamp(choose: random.Random) -> str:
    return choose.choice(["AUG 14 1966", "8-14-66", "3-4-52", "14AUG66", "081466", "1966", "8/66"])


MADE: dict[str, Callable[[random.Random], str]] = {
    "year-week": lambda choose: f"{choose.randint(0, 99):02d}-{choose.randint(0, 60):02d}",
    "source-week": _code,
    "date-stamp": _stamp,
    "patent-us": _patent,
    "postal-us": _postal,
    "mark": _mark,
    "scale-length": _scale,
    "resistance": _resistance,
    "weight": _weight,
}
"""Scheme → how a text for it is made up."""


def marking(choose: random.Random) -> Sequence[str]:
    """Return a scheme and a text; now and then the text of another, a sign that is not meant."""
    scheme = choose.choice(list(MADE))
    text = MADE[choose.choice(list(MADE)) if choose.random() < 0.05 else scheme](choose)
    if choose.random() < 0.1:
        at = choose.randint(0, len(text))
        text = text[:at] + choose.choice("0 x.,-/'é\u00a0\u0661😀") + text[at:]
    if choose.random() < 0.02:
        text *= 12
    return [choose.choice([scheme] * 60 + ["moon-phase"]), text]
