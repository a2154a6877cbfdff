"""Sourced facts on one model: the file format, its reader, its records and their identity."""

from quickcheck.reference.comparison import Change, compare
from quickcheck.reference.disclosures import DISCLOSURES, Disclosure
from quickcheck.reference.lines import located
from quickcheck.reference.reader import (
    read_reference,
    read_reference_text,
    read_reference_tree,
    reference_from_canonical,
    reference_parts,
)
from quickcheck.reference.records import (
    AREAS,
    OTHER,
    SOURCE_KINDS,
    Access,
    Assembly,
    Kind,
    Place,
    Point,
    PointSet,
    Reference,
    Source,
    Variant,
)
from quickcheck.reference.schema import json_schema
from quickcheck.reference.selection import Selectable, select
from quickcheck.reference.table import BLANK, COLUMNS, delimiter, text_of_table

__all__ = [
    "AREAS",
    "BLANK",
    "COLUMNS",
    "DISCLOSURES",
    "OTHER",
    "SOURCE_KINDS",
    "Access",
    "Assembly",
    "Change",
    "Disclosure",
    "Kind",
    "Place",
    "Point",
    "PointSet",
    "Reference",
    "Selectable",
    "Source",
    "Variant",
    "compare",
    "delimiter",
    "json_schema",
    "located",
    "read_reference",
    "read_reference_text",
    "read_reference_tree",
    "reference_from_canonical",
    "reference_parts",
    "select",
    "text_of_table",
]
