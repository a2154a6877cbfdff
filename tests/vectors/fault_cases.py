"""Documents with faults, which both engines must refuse in the same words."""

from collections.abc import Iterator
from typing import Any

from tests.vectors.edge_cases import OLD, YEAR, Case, document

Doc = dict[str, Any]

ANSWERS: tuple[tuple[str, Any], ...] = (
    ("nobody", {"seen": "old"}),
    ("constructor", {"seen": "old"}),
    ("nut", None),
    ("nut", "old"),
    ("nut", ["old"]),
    ("nut", {}),
    ("nut", {"seen": None, "state": None}),
    ("nut", {"seen": "bone"}),
    ("nut", {"sen": "old"}),
    ("nut", {"seen": "old", "stat": "changed", "colour": 3, "Sure": False}),
    ("nut", {"seen": "old", "rnot_een": 1, "": 2, "whereabouts": [], "tuni": 0}),
    ("nut", {"photos": ["0f"], "where": 5}),
    ("neck-depth", {"value": 1.1000000005}),
    ("neck-depth", {"value": 1e300}),
    ("neck-depth", {"value": 10**400}),
    ("nut", {"seen": ["old"]}),
    ("nut", {"seen": 5}),
    ("nut", {"value": 0.9}),
    ("nut", {"read": "12", "seen": "old"}),
    ("nut", {"seen": "old", "sure": "yes"}),
    ("nut", {"seen": "old", "note": 7}),
    ("nut", {"seen": "old", "where": "back"}),
    ("nut", {"seen": "old", "where": ["back", None]}),
    ("nut", {"seen": "old", "state": "new"}),
    ("nut", {"seen": "old", "not_seen": "no-time"}),
    ("nut", {"not_seen": "asleep"}),
    ("nut", {"state": "signs"}),
    ("nut", {"seen": "old", "state": True, "sure": 1, "where": {}}),
    ("hardware-signs", {"seen": []}),
    ("hardware-signs", {"seen": ["holes", "holes"]}),
    ("hardware-signs", {"seen": ["holes", {"it's": 'a "fault"', "n": [1, 2.5, None, False]}]}),
    ("hardware-signs", {"seen": ["holes"], "state": "signs"}),
    ("neck-signs", {"seen": ["planed", "even"]}),
    ("neck-depth", {"value": 1.2}),
    ("neck-depth", {"value": 0.69999}),
    ("neck-depth", {"value": -0.000012345678}),
    ("neck-depth", {"value": 123456789.5}),
    ("neck-depth", {"value": True}),
    ("neck-depth", {"value": [0.9]}),
    ("neck-depth", {"value": 0.9, "unit": "furlong"}),
    ("neck-depth", {"value": 0.9, "unit": "kg"}),
    ("neck-depth", {"value": 0.9, "unit": 1}),
    ("neck-depth", {"value": "15/16 mm"}),
    ("neck-depth", {"value": "7,400"}),
    ("neck-depth", {"value": "23²"}),
    ("neck-depth", {"value": "5/7"}),
    ("neck-depth", {"value": "1 17/16"}),
    ("neck-depth", {"value": "-0.9"}),
    ("neck-depth", {"value": "about 0.94 in, I think, but the light is bad here"}),
    ("neck-depth", {"value": "0.94 stone"}),
    ("neck-depth", {"value": "8 lb 4 oz"}),
    ("neck-depth", {"value": ""}),
    ("weight", {"value": "8 lb 16 oz"}),
    ("weight", {"value": "8.5 mm"}),
    ("weight", {"value": 30, "unit": "kg"}),
    ("serial", {"read": ""}),
    ("serial", {"read": "D123"}),
    ("serial", {"read": 420}),
    ("serial", {"read": "12345"}),
    ("serial", {"read": "٤٢٠"}),
    ("volume-pot", {"read": "52"}),
    ("volume-pot", {"read": "52-54"}),
    ("volume-pot", {"read": "52-00"}),
    ("tone-pot", {"read": "137"}),
    ("tone-pot", {"read": "13 7241"}),
    ("tone-pot", {"read": "137XX12 " * 9}),
)

REST: tuple[Doc, ...] = (
    {"reference": "other"},
    {"reference": None},
    {"reference": ["edges"]},
    {"window": None},
    {"window": ["1952-01"]},
    {"window": "1952-01"},
    {"window": ["1952-13", "1953-01"]},
    {"window": ["1952-01", 1953]},
    {"window": [None, True]},
    {"window": ["1953-01", "1952-01"]},
    {"window": ["1930-01", "1940-12"]},
    {"window": ["1962-01", "1962-01"]},
    {"window": ["1700-01", "1952-01"]},
    {"claim": "mine"},
    {"claim": {"words": 7}},
    {"claim": {"words": "x", "nothing_changed": "no"}},
    {"access": "all"},
    {"access": ""},
    {"tools": "lamp"},
    {"tools": ["lamp", 5]},
    {"serial_text": 420},
    {"marks": {}},
    {"marks": ["burn"]},
    {"marks": [{"mm": -1}]},
    {"marks": [{"mm": None}]},
    {"marks": [{"mm": "6"}]},
    {"marks": [{"place": 3}]},
    {"disclosures": ["refinish", "made-new"]},
    {"disclosures": [None]},
    {"answers": None},
    {"answers": []},
    {"reference": "x", "window": [], "access": "far", "answers": {"y": 1, "nut": {"seen": "z"}}},
)


def faults() -> Iterator[Case]:
    """Yield documents that must be refused."""
    for name, answer in ANSWERS:
        yield f"fault: {name} {answer}", document(YEAR, OLD | {name: answer}), None
    for more in REST:
        yield f"fault: {more}", document(YEAR, OLD) | more, None
    yield "fault: window from outside", document(YEAR, OLD), (12 * 1953, 12 * 1952)
    yield "fault: window far away", document(YEAR, OLD), (12 * 1853, 12 * 1853)
