"""The format as tables: which keys each kind of entry has, their forms, what they are by default.

A reviewer can hold these rows beside the README of this room, one by one.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Final

from quickcheck.readings import DATE_SCHEMES, UNITS
from quickcheck.reference import _forms as forms
from quickcheck.reference.records import AREAS, SOURCE_KINDS, Access, Assembly, Kind, Place

FORMAT: Final = 1
MOST_POINTS: Final = 200
MOST_VARIANTS: Final = 30
LONGEST_COVER: Final = 1200
"""Months: a hundred years."""


@dataclass(frozen=True, slots=True)
class Field:
    """One key: its form, and either that it is needed or what it is by default."""

    form: forms.Form
    needed: bool = False
    default: Any = None


Table = Mapping[str, Field]

_RATE = forms.number(0, 1, open_ends="low high")
_ABOVE_0 = forms.number(0, 1e6, open_ends="low")
_FROM_0 = forms.number(0, 1e6)
_PROSE = forms.words(4000)
_LABEL = forms.words(200)
_SOURCES = forms.rows(forms.NAME)

REFERENCE: Final[Table] = {
    "format": Field(forms.exactly(FORMAT), needed=True),
    "id": Field(forms.NAME, needed=True),
    "title": Field(_LABEL, needed=True),
    "covers": Field(forms.COVERS, needed=True),
    "edition": Field(forms.words(40), needed=True),
    "author": Field(_LABEL, needed=True),
    "licence": Field(_LABEL, needed=True),
    "about": Field(_PROSE, needed=True),
    "kappa": Field(forms.number(0.5, 3)),
    "outline": Field(forms.OUTLINE, default="solid"),
    "source": Field(forms.tables_by_name("[source.ledger]"), needed=True),
    "output": Field(forms.OUTPUT, default={}),
    "set": Field(forms.tables_by_name("[set.hardware]"), default={}),
    "point": Field(forms.table_list("[[point]]"), needed=True),
}

SOURCE: Final[Table] = {
    "title": Field(_LABEL, needed=True),
    "kind": Field(forms.choice(SOURCE_KINDS), needed=True),
    "where": Field(forms.words(400), default=""),
}

SET: Final[Table] = {
    "label": Field(_LABEL),  # by default its id in words
    "changed": Field(_RATE, needed=True),
}

ANY_POINT: Final[Table] = {
    "id": Field(forms.OWN_NAME, needed=True),
    "area": Field(forms.choice(AREAS), needed=True),
    "assembly": Field(forms.choice(Assembly)),  # by default that of the area
    "kind": Field(forms.choice(Kind), needed=True),
    "name": Field(forms.words(60)),  # a word or two for lists; by default its id in words
    "ask": Field(_LABEL),  # by default its id in words
    "look": Field(_PROSE, default=""),
    "place": Field(forms.choice(Place)),  # by default that of the area
    "access": Field(forms.choice(Access), default=Access.LOOK),
    "tools": Field(forms.rows(forms.NAME, least=0), default=()),
    "minutes": Field(forms.number(0, 600, open_ends="low"), default=1.0),
    "source": Field(_SOURCES, default=()),
    "caution": Field(_PROSE, default=""),
}
_SEEN: Final[Table] = {"seen": Field(forms.table_list("[[point.seen]]"), needed=True)}
_WITNESS: Final[Table] = {"changed": Field(_RATE, default=0.05)}
_SET_MEMBER: Final[Table] = {"changed_with": Field(forms.NAME), "other": Field(_RATE, default=0.02)}
_REPLACED: Final[Table] = {"other_if_changed": Field(_FROM_0)}

POINT: Final[Mapping[Kind, Table]] = {
    Kind.PICK: {**ANY_POINT, **_SEEN, **_WITNESS, **_SET_MEMBER, **_REPLACED},
    Kind.MEASURE: {
        **ANY_POINT,
        **_SEEN,
        **_WITNESS,
        **_SET_MEMBER,
        "unit": Field(forms.choice(UNITS), needed=True),
        "span": Field(forms.SPAN, needed=True),
        "tolerance": Field(_FROM_0, default=0.0),
    },
    Kind.SERIAL: {
        **ANY_POINT,
        **_SEEN,
        **_WITNESS,
        **_SET_MEMBER,
        **_REPLACED,
        "pattern": Field(forms.PATTERN, needed=True),
    },
    Kind.DATECODE: {
        **ANY_POINT,
        **_WITNESS,
        "scheme": Field(forms.choice(DATE_SCHEMES), needed=True),
    },
    Kind.SIGN: {
        **ANY_POINT,
        **_SEEN,
        "bears_on": Field(forms.rows(forms.words(80)), needed=True),
        "many": Field(forms.FLAG, default=False),
    },
}

_ANY_VARIANT: Final[Table] = {
    "id": Field(forms.OWN_NAME, needed=True),
    "picture": Field(forms.PICTURE),
    "note": Field(_PROSE, default=""),
    "source": Field(_SOURCES, default=()),
}
_FITTED: Final[Table] = {
    "from": Field(forms.MONTH),
    "to": Field(forms.MONTH),
    "give": Field(forms.number(0, 600), default=3.0),
    "share": Field(_ABOVE_0, default=1.0),
    "shares": Field(forms.KNOTS, default=()),
}
_LABELLED: Final[Table] = {"label": Field(_LABEL, needed=True)}
_WEIGHED: Final[Table] = {"if_changed": Field(_FROM_0)}
_NUMBER: Final = forms.whole(0, 10**12)

VARIANT: Final[Mapping[Kind, Table]] = {
    Kind.PICK: {**_ANY_VARIANT, **_LABELLED, **_FITTED, **_WEIGHED},
    Kind.MEASURE: {
        **_ANY_VARIANT,
        **_LABELLED,
        **_FITTED,
        "mean": Field(forms.number(-1e6, 1e6), needed=True),
        "spread": Field(_FROM_0, needed=True),
    },
    Kind.SERIAL: {
        **_ANY_VARIANT,
        "label": Field(_LABEL),  # by default its numbers
        **_FITTED,
        **_WEIGHED,
        "first": Field(_NUMBER, needed=True),
        "last": Field(_NUMBER, needed=True),
    },
    Kind.DATECODE: {},
    Kind.SIGN: {
        **_ANY_VARIANT,
        **_LABELLED,
        "odds": Field(_ABOVE_0),
        "silent": Field(forms.FLAG, default=False),
        "border": Field(forms.FLAG, default=False),
    },
}

KEYS_OF_ANY_POINT: Final = frozenset(key for table in POINT.values() for key in table)
KEYS_OF_ANY_VARIANT: Final = frozenset(key for table in VARIANT.values() for key in table)
