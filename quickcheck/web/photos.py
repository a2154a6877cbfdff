"""The photos of an inspection as pages show them: those that are here, and how many are not yet."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from quickcheck.store import Saved, Store, photos_of


@dataclass(frozen=True, slots=True)
class Shown:
    """Hashes of the photos that have arrived, in the document's order, and a count of the others."""

    here: tuple[str, ...] = ()
    absent: int = 0

    def __bool__(self) -> bool:
        return bool(self.here or self.absent)


def _shown(names: Iterable[str], missing: frozenset[str]) -> Shown:
    once = tuple(dict.fromkeys(names))
    here = tuple(name for name in once if name not in missing)
    return Shown(here, len(once) - len(here))


def of(store: Store, saved: Saved) -> Shown:
    """Return the photos of a whole inspection, each once."""
    names = [name for _, name in photos_of(saved.document)]
    return _shown(names, _missing(store, saved) if names else frozenset())


def by_point(store: Store, saved: Saved) -> Mapping[str, Shown]:
    """Return the photos at each point that has any."""
    there: dict[str, list[str]] = {}
    for point, name in photos_of(saved.document):
        there.setdefault(point, []).append(name)
    missing = _missing(store, saved) if there else frozenset()
    return {point: _shown(names, missing) for point, names in there.items()}


def _missing(store: Store, saved: Saved) -> frozenset[str]:
    return frozenset(store.photos.missing(saved.id))
