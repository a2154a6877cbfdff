"""What a reference says, as frozen values.

Only the reader makes these, and only from a file without faults, so nobody checks them again.
Months are whole numbers (`quickcheck.readings.months`); ``None`` is a missing edge.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from functools import cached_property

OTHER = "other"


class Kind(StrEnum):
    """What is done at a point."""

    PICK = "pick"
    MEASURE = "measure"
    SERIAL = "serial"
    DATECODE = "datecode"
    SIGN = "sign"


class Access(StrEnum):
    """What the owner must allow, in rising order."""

    LOOK = "look"
    HANDLE = "handle"
    OPEN = "open"

    @property
    def rank(self) -> int:
        """0 for eyes only, 1 for hands and gauges, 2 for taking things apart."""
        return _RANKS[self]


_RANKS = {access: rank for rank, access in enumerate(Access)}


class Place(StrEnum):
    """Where on the outline a point is found, in the order of the hands."""

    FRONT = "front"
    HEADSTOCK = "headstock"
    BACK = "back"
    EDGE = "edge"
    OPEN = "open"
    CASE = "case"


class Assembly(StrEnum):
    """What can be swapped as a whole."""

    NECK = "neck"
    BODY = "body"
    ELECTRICS = "electrics"
    HARDWARE = "hardware"
    CASE = "case"


@dataclass(frozen=True, slots=True)
class Source:
    """Where a fact comes from; ``kind`` is one of `SOURCE_KINDS`."""

    id: str
    title: str
    kind: str
    where: str = ""


SOURCE_KINDS = ("document", "census", "published", "common-practice", "memory")
AREAS: Mapping[str, tuple[Assembly, Place]] = {
    "hardware": (Assembly.HARDWARE, Place.FRONT),
    "screws": (Assembly.HARDWARE, Place.FRONT),
    "decal": (Assembly.NECK, Place.HEADSTOCK),
    "tuners": (Assembly.HARDWARE, Place.HEADSTOCK),
    "finish": (Assembly.BODY, Place.BACK),
    "weight": (Assembly.BODY, Place.EDGE),
    "neck": (Assembly.NECK, Place.EDGE),
    "electrics": (Assembly.ELECTRICS, Place.OPEN),
    "body": (Assembly.BODY, Place.FRONT),
    "serial": (Assembly.BODY, Place.BACK),
    "case": (Assembly.CASE, Place.CASE),
}
"""Area → the assembly and the place that a point of it has by default."""


@dataclass(frozen=True, slots=True)
class PointSet:
    """Points usually changed in one go, and how often all of them were."""

    id: str
    label: str
    changed: float


@dataclass(frozen=True, slots=True)
class Variant:
    """One way a point can look, and the months in which it was fitted."""

    id: str
    label: str
    first: int | None = None  # month; None: fitted from before the reference begins
    last: int | None = None
    give: float = 3.0  # months, half-width of the central 90 % of the change-over
    share: float = 1.0
    knots: tuple[tuple[int, float], ...] = ()  # (month, share), instead of the edges
    if_changed: float | None = None
    mean: float | None = None  # of a measure, in the point's unit
    spread: float | None = None
    block: tuple[int, int] | None = None  # first and last serial number, both inclusive
    odds: float | None = None  # of a sign
    silent: bool = False
    border: bool = False  # of a sign: names a material that borders ask about
    picture: str | None = None
    note: str = ""
    source: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Point:
    """One thing to look at."""

    id: str
    area: str
    assembly: Assembly
    kind: Kind
    place: Place
    access: Access
    ask: str
    name: str = ""  # a word or two for lists; by default made from the id
    seen: tuple[Variant, ...] = ()
    look: str = ""
    caution: str = ""
    tools: tuple[str, ...] = ()
    minutes: float = 1.0
    changed: float = 0.05
    changed_with: str | None = None
    other: float = 0.02
    other_if_changed: float | None = None
    source: tuple[str, ...] = ()
    unit: str | None = None  # of a measure
    span: tuple[float, float] | None = None
    tolerance: float = 0.0
    pattern: str | None = None  # of a serial
    scheme: str | None = None  # of a datecode
    bears_on: tuple[str, ...] = ()  # of a sign
    many: bool = False

    def variant(self, variant_id: str) -> Variant | None:
        """Return the variant of that id, or None."""
        return next((v for v in self.seen if v.id == variant_id), None)

    @property
    def asks_material(self) -> bool:
        """Whether it asks what a part is declared or suspected to be made of."""
        return any(variant.border for variant in self.seen)

    @property
    def is_witness(self) -> bool:
        """Whether an answer here can speak for months at all."""
        return self.kind is not Kind.SIGN and self.assembly is not Assembly.CASE


@dataclass(frozen=True)
class Reference:
    """Sourced facts on one model: what was fitted when."""

    id: str
    title: str
    covers: tuple[int, int]  # first and last month, both inclusive
    edition: str
    author: str
    licence: str
    about: str
    sources: Mapping[str, Source]
    sets: Mapping[str, PointSet]
    output: Mapping[str, float]  # "1952" or "1952-07" → instruments built
    points: tuple[Point, ...]
    hash: str  # 64 hex digits, SHA-256 of the canonical JSON
    kappa: float | None = None
    outline: str = "solid"
    pictures: Mapping[str, bytes] = field(default_factory=dict, repr=False)  # name → content
    canonical: bytes = field(default=b"", repr=False)  # the JSON that `hash` is the digest of
    warnings: tuple[str, ...] = ()

    @cached_property
    def by_id(self) -> Mapping[str, Point]:
        """Points by their id."""
        return {point.id: point for point in self.points}

    @property
    def months(self) -> int:
        """How many months the reference covers."""
        return self.covers[1] - self.covers[0] + 1
