"""The words that screens show for the codes of the records, in one place."""

from collections.abc import Mapping
from datetime import datetime
from typing import Final

from quickcheck.card import MARK_KINDS, MARK_PLACES, SealState
from quickcheck.engine import VERDICT_WORDS, Mark
from quickcheck.errors import ReadingError
from quickcheck.readings import SCHEMES, UNITS, read_code, run_words
from quickcheck.store import Entry, Kind, Paper, Papers

STATE_WORDS: Final[Mapping[str, str]] = {
    "": "Not looked for",
    "no-sign": "No sign seen",
    "undisturbed": "Undisturbed",
    "signs": "Signs of change",
    "changed": "Changed",
}
STATE_HELP: Final[Mapping[str, str]] = {
    "no-sign": "looked for, none seen",
    "undisturbed": "paint bridges the joint, factory solder unbroken: could not have been changed unseen",
    "signs": "extra holes, disturbed solder, overspray",
    "changed": "certain, or the owner says so",
}
NOT_SEEN_WORDS: Final[Mapping[str, str]] = {
    "not-allowed": "Not allowed",
    "not-visible": "Not visible",
    "no-tool": "No tool",
    "no-time": "No time",
}
ACCESS_WORDS: Final[Mapping[str, str]] = {
    "look": "Eyes only",
    "handle": "Hands and gauges",
    "open": "May be opened",
}
PLACE_WORDS: Final[Mapping[str, str]] = {
    "front": "Front",
    "headstock": "Headstock",
    "back": "Back",
    "edge": "Edge",
    "open": "Open",
    "case": "Case",
}
ASSEMBLY_WORDS: Final[Mapping[str, str]] = {
    "neck": "Neck",
    "body": "Body",
    "electrics": "Electrics",
    "hardware": "Hardware",
    "case": "Case",
}
AREA_WORDS: Final[Mapping[str, str]] = {
    "hardware": "Hardware",
    "screws": "Screws",
    "decal": "Marking",
    "tuners": "Tuners",
    "finish": "Finish",
    "weight": "Weight",
    "neck": "Neck",
    "electrics": "Electrics",
    "body": "Body",
    "serial": "Serial",
    "case": "Case",
}
UNIT_WORDS: Final[Mapping[str, str]] = {"ohm": "Ω", "kohm": "kΩ"}
INTEREST_WORDS: Final[Mapping[str, str]] = {
    "selling": "The issuer is selling it.",
    "selling-for-owner": "The issuer is selling it for the owner.",
    "none": "The issuer has no interest in it.",
}


SEAL_TITLES: Final[Mapping[SealState, str]] = {
    SealState.SEALED: "Sealed",
    SealState.RETIRED: "Sealed",
    SealState.LOGGED: "Sealed",
    SealState.CORRECTED: "No longer the card of this instrument",
    SealState.WITHDRAWN: "Taken back",
    SealState.OUT_OF_TIME: "Seal not believed",
    SealState.REVOKED: "Seal not believed",
    SealState.UNKNOWN_KEY: "Seal not known",
    SealState.ALTERED: "Seal broken",
    SealState.UNSEALED: "No seal",
}
"""The state of a seal in a word or two, which stand before its sentence."""


def mark_words(mark: Mark) -> str:
    """Return an identifying mark in words."""
    size = f", {mark.mm:g} mm" if mark.mm else ""
    return f"{MARK_KINDS[mark.kind]}{size}: {MARK_PLACES[mark.place]}"


def span_words(first: int, last: int) -> str:
    """Return how wide a claim is: ``3 months``, ``1 year``, ``2 years 6 months``."""
    years, months = divmod(last - first + 1, 12)
    parts = ((years, "year"), (months, "month"))
    return " ".join(f"{count} {unit}{'s' * (count > 1)}" for count, unit in parts if count)


def day_words(time: datetime) -> str:
    """Return a day: ``11 Apr 2026``."""
    return f"{time.day} {time:%b %Y}"


def tool_words(tool: str) -> str:
    """Return a tool's id as words: ``uv-lamp`` → ``UV lamp``."""
    words = tool.replace("-", " ")
    return words.replace("uv ", "UV ") if words.startswith("uv ") else words


def point_words(point_id: str) -> str:
    """Return a point's short name from its id: ``neck-depth-1`` → ``Neck depth 1``."""
    return point_id.replace("-", " ").capitalize()


def unit_words(unit: str | None) -> str:
    """Return a unit as it is written beside a number."""
    return UNIT_WORDS.get(unit or "", unit or "")


MARKS: Final = (MARK_PLACES, MARK_KINDS)
OUTLINES: Final = frozenset({"solid", "bass", "archtop", "flat-top"})
LEANING_WORDS: Final[Mapping[str, str]] = {
    "within": "the claimed months",
    "earlier": "earlier",
    "later": "later",
    "silent": "nothing in particular",
}
MARK_WORDS: Final[Mapping[str, str]] = {
    "seen": "seen",
    "not-seen": "not seen",
    "out-of-reach": "out of reach",
    "open": "",
}


def units_like(unit: str) -> tuple[str, ...]:
    """Return the units of the same kind, the point's own first."""
    same = [name for name, found in UNITS.items() if found.kind == UNITS[unit].kind]
    return (unit, *(name for name in same if name != unit))


def verdict_words(code: str) -> str:
    """Return a verdict as it is shown."""
    return VERDICT_WORDS[code]


def scheme_help(scheme: str) -> str:
    """Return how a date code of this scheme is written."""
    found = SCHEMES[scheme]
    return f"{found.about} For example {found.example}."


def code_words(scheme: str, text: str) -> str:
    """Return what a date code says; nothing where it says nothing, which is told when it is sent."""
    try:
        return read_code(scheme, text).says
    except ReadingError:
        return ""


VERSION_WORDS: Final[Mapping[Kind, str]] = {
    Kind.ANSWER: "Revision",
    Kind.UNDO: "Undone, revision",
    Kind.IMPORT: "Imported, revision",
    Kind.BACK: "Chosen, revision",
    Kind.LATE: "Came too late, written on revision",
    Kind.PARKED: "Could not be taken, written on revision",
}


PAPER_WORDS: Final[Mapping[Paper, str]] = {
    Paper.LEDGER: "Maker’s ledger or shipping list",
    Paper.RECEIPT: "Receipt or bill of sale",
    Paper.WARRANTY: "Warranty or registration card",
    Paper.PHOTO: "Dated photo",
    Paper.LETTER: "Letter, diary or log",
    Paper.OTHER: "Other paper",
}


def papers_words(papers: Papers) -> str:
    """Return what papers give: ``Mar 1953 ± 2 months, receipt or bill of sale``."""
    doubt = "" if papers.doubt is None else f" ± {papers.doubt:g} months"
    kind = PAPER_WORDS[papers.kind]
    return f"{run_words(papers.first, papers.last)}{doubt}, {kind[0].lower()}{kind[1:]}"


def version_words(entry: Entry) -> str:
    """Return what a version is: ``Revision 3``, ``Came too late, written on revision 2``."""
    number = entry.back if entry.number is None else entry.number
    return f"{VERSION_WORDS[entry.kind]} {number}"


def place_in_document(where: str) -> str:
    """Return a place in a document in words: ``answers.neck-depth.value`` → ``Neck depth: value``."""
    first, *rest = where.split(".")
    if first == "answers" and rest:
        first, *rest = rest
    return ": ".join([point_words(first), *(part.replace("_", " ") for part in rest)])
