"""What a seller discloses, in common terms, and what each term does to the evidence.

Terms, meanings and effects: common practice, no source. ``own`` are the points that are declared
changed by it; ``others`` are the points that it makes silent, as nobody can tell any more what
they would have said. Both are selectors (`quickcheck.reference.selection`), so that they fit every
reference whose ids begin alike. What weakens a point only slightly (the weight after a refinish)
is left out. "Original" is a claim, never a disclosure.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final

from quickcheck.reference.records import Reference
from quickcheck.reference.selection import select


@dataclass(frozen=True, slots=True)
class Disclosure:
    """A term, what it means, and the points it changes (``own``) or silences (``others``)."""

    id: str
    term: str
    meaning: str
    own: tuple[str, ...] = ()
    others: tuple[str, ...] = ()

    def effects(self, reference: Reference) -> tuple[frozenset[str], frozenset[str]]:
        """Return the ids of the points declared changed, and of those silenced (none in both)."""
        own = select(reference.points, self.own)
        return own, select(reference.points, self.others) - own


def _table(rows: Iterable[tuple[str, str, str, str, str]]) -> Mapping[str, Disclosure]:
    return MappingProxyType(
        {
            name: Disclosure(name, term, meaning, tuple(own.split()), tuple(others.split()))
            for name, term, meaning, own, others in rows
        }
    )


_FINISH: Final = "finish* colour*"
_BESIDE_FINISH: Final = (
    "edge-radius* *shadow* head-mark* head-inlay* motto* decal* *-glow cavity-paint*"
)
_MARKING: Final = "head-mark* head-inlay* motto* decal*"
_DEPTH: Final = "neck-depth*"
_CODES: Final = "*-pot pot* *-code cap-* capacitor*"
_LABEL: Final = "label*"
_PICKUP: Final = "pickup pickup-* *-pickup"

DISCLOSURES: Final = _table(
    # id, term, meaning, own, others. Cards name a disclosure by its row: add at the end only.
    [
        ("refinish", "Refinish", "whole finish removed and redone", _FINISH, _BESIDE_FINISH),
        (
            "overspray",
            "Overspray",
            "new clear over the old finish",
            "",
            f"{_FINISH} {_MARKING} *checking* *-glow",
        ),
        ("touch-up", "Touch-up", "small area coloured or filled", "", ""),
        (
            "stripped",
            "Finish stripped",
            "finish gone, none put back",
            _FINISH,
            _BESIDE_FINISH,
        ),
        (
            "polished",
            "French polish or buffed",
            "surface levelled or polished again",
            "",
            "edge-radius* *checking* *-glow",
        ),
        ("checking", "Finish checking", "fine cracks with age", "", ""),
        ("faded", "Faded", "colour lost to light", "colour*", ""),
        ("refret", "Refret", "frets replaced", "fret frets* fret-wire*", "fret-wear*"),
        (
            "partial-refret",
            "Partial refret, or level and crown",
            "some frets replaced or filed",
            "fret frets* fret-wire* fret-wear*",
            "",
        ),
        (
            "planed-board",
            "Board planed",
            "fingerboard surfaced again",
            "",
            f"marker* {_DEPTH} board-thickness*",
        ),
        (
            "replaced-board",
            "Replaced board",
            "new fingerboard",
            "board*",
            f"marker* {_DEPTH} *binding*",
        ),
        ("replaced-nut", "Replaced nut", "nut not first", "nut", ""),
        ("replaced-saddle", "Replaced saddle", "saddle or saddles not first", "saddle*", ""),
        ("changed-tuners", "Changed tuners", "tuners replaced", "tuners", ""),
        (
            "plugged-holes",
            "Plugged or extra holes",
            "holes filled or left: mark the part there as changed, the footprint tells the first",
            "",
            "",
        ),
        (
            "reamed",
            "Peg holes enlarged",
            "peg holes made larger",
            "",
            "tuners tuner-*",
        ),
        (
            "changed-hardware",
            "Changed parts",
            "hardware replaced: mark each part at its own point as changed",
            "",
            "",
        ),
        (
            "reproduction-part",
            "Reproduction part",
            "modern copy in an old pattern: mark the point itself as changed",
            "",
            "",
        ),
        (
            "period-part",
            "Period-correct part",
            "right years, another instrument: mark the point itself as changed",
            "",
            "",
        ),
        ("replated", "Refilled or replated", "plating redone", "*plating*", ""),
        ("rewound", "Rewound pickup", "coil wound again", "*-dcr *-resistance", ""),
        ("changed-pickups", "Changed pickups", "pickups not the first", _PICKUP, ""),
        (
            "rewired",
            "Rewired, or changed pots",
            "harness redone",
            f"{_CODES} *solder* *wiring*",
            "",
        ),
        (
            "resoldered",
            "Resoldered joint",
            "one joint opened",
            "",
            f"*solder* {_CODES}",
        ),
        ("routed", "Routed", "wood removed for parts", "", "cavity* *rout*"),
        (
            "filled-rout",
            "Filled rout",
            "routing patched",
            "",
            f"cavity* *rout* {_FINISH}",
        ),
        (
            "refitted-electronics",
            "Refitted electronics",
            "parts put back after a change",
            "*solder*",
            "",
        ),
        (
            "new-top",
            "New top",
            "top replaced",
            "top*",
            f"{_LABEL} brace* bracing* kerfing* binding* {_FINISH}",
        ),
        (
            "new-back",
            "New back or sides",
            "back or sides replaced",
            "back* sides*",
            _LABEL,
        ),
        (
            "neck-reset",
            "Neck reset",
            "neck removed and set at a new angle",
            "",
            "heel* *shim*",
        ),
        ("neck-shim", "Neck shim", "wedge in the joint", "", ""),
        (
            "neck-reshaped",
            "Neck reshaped",
            "profile carved",
            _DEPTH,
            "neck-finish* neck-edge*",
        ),
        (
            "other-neck",
            "Replaced or married neck",
            "neck from another instrument; its points speak for the neck only",
            "",
            "assembly:neck",
        ),
        (
            "married",
            "Married parts",
            "put together from two or more instruments: read assembly by assembly",
            "",
            "",
        ),
        (
            "headstock-repair",
            "Headstock repair",
            "break glued",
            "",
            f"{_MARKING} head-finish*",
        ),
        (
            "new-veneer",
            "Headstock veneer replaced",
            "new facing",
            f"{_MARKING} head-serial*",
            "",
        ),
        (
            "renumbered",
            "Relabelled or renumbered",
            "label or number replaced",
            f"serial* {_LABEL}",
            "",
        ),
        (
            "replaced-bridge",
            "Bridge or bridge plate replaced",
            "bridge or plate new",
            "bridge*",
            "",
        ),
        ("cleated-crack", "Crack, cleated", "crack glued and supported", "", ""),
        (
            "new-braces",
            "Braces replaced or shaved",
            "bracing inside altered",
            "brace* bracing*",
            "",
        ),
        (
            "new-binding",
            "Binding replaced",
            "edge strip new",
            "binding* *-binding",
            "",
        ),
        ("player-wear", "Player wear", "loss from use; say where", "", ""),
        ("other-case", "Case not first", "another case", "assembly:case", ""),
        (
            "modified",
            "Modified",
            "altered, can or cannot go back: name the change itself as well",
            "",
            "",
        ),
    ]
)
