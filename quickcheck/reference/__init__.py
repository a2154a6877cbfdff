"""Sourced facts on one model: the file format, its reader, its records and their identity."""

from quickcheck.reference.disclosures import DISCLOSURES, Disclosure
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
from quickcheck.reference.selection import Selectable, select

__all__ = [
    "AREAS",
    "DISCLOSURES",
    "OTHER",
    "SOURCE_KINDS",
    "Access",
    "Assembly",
    "Disclosure",
    "Kind",
    "Place",
    "Point",
    "PointSet",
    "Reference",
    "Selectable",
    "Source",
    "Variant",
    "read_reference",
    "read_reference_text",
    "read_reference_tree",
    "reference_from_canonical",
    "reference_parts",
    "select",
]
