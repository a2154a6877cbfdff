"""Walk a parsed file along the tables: every key is read or reported, nothing is guessed."""

import difflib
from collections.abc import Collection, Mapping
from dataclasses import dataclass
from typing import Any

from quickcheck.errors import ReadingError, shown
from quickcheck.reference import _fields as fields
from quickcheck.reference._faults import Entry, Faults, came
from quickcheck.reference._forms import NAME, NotOfFormError
from quickcheck.reference.records import Kind


@dataclass(frozen=True)
class Walked:
    """All entries of a file, as far as they could be read."""

    top: Entry
    sources: Mapping[str, Entry]
    sets: Mapping[str, Entry]
    points: tuple[tuple[Entry, tuple[Entry, ...]], ...]  # each with its variants


def walk(document: Mapping[str, Any], faults: Faults) -> Walked:
    """Return the entries; what is wrong with single values goes to ``faults``."""
    top = Entry("", (), document)
    read_entry(top, fields.REFERENCE, faults=faults)
    return Walked(
        top,
        _named(top, "source", table=fields.SOURCE, faults=faults),
        _named(top, "set", table=fields.SET, faults=faults),
        tuple(_point(top, at, faults=faults) for at in _up_to(fields.MOST_POINTS, top["point"])),
    )


def read_entry(
    entry: Entry,
    table: fields.Table,
    *,
    faults: Faults,
    elsewhere: Collection[str] = (),
    unjudged: Collection[str] = (),
) -> None:
    """Read every key of an entry; ``elsewhere`` are keys that other kinds have."""
    for key, value in entry.raw.items():
        if key in table:
            _read_value(entry, key, value, form=table[key].form, faults=faults)
        elif key not in unjudged:
            known = () if faults.are_many else table
            faults.add(entry, key, say=_unknown(key, known, elsewhere=elsewhere))
    for key, field in table.items():
        if key not in entry.raw and field.needed:
            faults.add(entry, key, say=(field.form.expected, "nothing", field.form.remedy))
        elif key not in entry.raw:
            entry.values[key] = field.default


def _read_value(entry: Entry, key: str, value: object, *, form: Any, faults: Faults) -> None:
    try:
        entry.values[key] = form.read(value)
    except NotOfFormError:
        faults.add(entry, key, say=(form.expected, came(value), form.remedy))
    except ReadingError as error:
        (fault,) = error.faults
        faults.add(entry, key, say=(fault.expected, fault.came, fault.remedy))


def _unknown(
    key: str, table: Collection[str], *, elsewhere: Collection[str]
) -> tuple[str, str, str]:
    near = difflib.get_close_matches(key, table, n=1)
    if key in elsewhere:
        remedy = "That key belongs to another kind of point: remove it, or mend the kind."
    elif near:
        remedy = f'Did you mean "{near[0]}"?'
    else:
        remedy = f"Remove it. Known here: {', '.join(table) or 'see the format'}."
    return "a key of the format", shown(key), remedy


def _named(top: Entry, key: str, *, table: fields.Table, faults: Faults) -> Mapping[str, Entry]:
    found = {}
    for at, (name, raw) in enumerate((top[key] or {}).items()):
        entry = top.child(f'{key} "{name}"', raw, at=(key, at))
        try:
            NAME.read(name)
        except NotOfFormError:
            faults.add(entry, None, say=(f"a name of {NAME.expected}", shown(name), NAME.remedy))
        read_entry(entry, table, faults=faults)
        found[name] = entry
    return found


def _title(word: str, raw: Mapping[str, Any], at: int) -> str:
    name = raw.get("id")
    return f"{word} {shown(name)}" if isinstance(name, str) and name else f"{word} {at + 1}"


def _point(top: Entry, at: int, *, faults: Faults) -> tuple[Entry, tuple[Entry, ...]]:
    raw = top["point"][at]
    entry = top.child(_title("point", raw, at), raw, at=("point", at))
    kind = _kind(raw)
    if kind is None:
        # Which other keys belong here hangs on the kind, so they are not judged.
        unjudged = fields.KEYS_OF_ANY_POINT
        read_entry(entry, fields.ANY_POINT, faults=faults, unjudged=unjudged)
        return entry, ()
    read_entry(entry, fields.POINT[kind], faults=faults, elsewhere=fields.KEYS_OF_ANY_POINT)
    ranks = _up_to(fields.MOST_VARIANTS, entry["seen"])
    return entry, tuple(_variant(entry, kind, at=at, faults=faults) for at in ranks)


def _up_to(most: int, rows: Collection[object] | None) -> range:
    """Return the places of a list; of one that is too long, which is a fault, only the first."""
    return range(min(len(rows or ()), most))


def _kind(raw: Mapping[str, Any]) -> Kind | None:
    kind = raw.get("kind")
    return Kind(kind) if isinstance(kind, str) and kind in set(Kind) else None


def _variant(point: Entry, kind: Kind, *, at: int, faults: Faults) -> Entry:
    raw = point["seen"][at]
    entry = point.child(_title("variant", raw, at), raw, at=("seen", at))
    elsewhere = fields.KEYS_OF_ANY_VARIANT
    read_entry(entry, fields.VARIANT[kind], faults=faults, elsewhere=elsewhere)
    return entry
