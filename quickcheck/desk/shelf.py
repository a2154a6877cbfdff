"""References to choose from, gathered from files."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path

from quickcheck.errors import NotFoundError, ReferenceFaultsError, shown
from quickcheck.reference import Reference, read_reference


@dataclass(frozen=True, slots=True)
class Folders:
    """Where references come from: a folder of one's own, which is written to, and what comes with it."""

    own: Path | None = None
    beside: tuple[Path, ...] = ()  # each where the own folder has none of its id
    general: tuple[Path, ...] = ()  # likewise, for what no other reference fits

    @property
    def own_paths(self) -> tuple[Path, ...]:
        """Those in the own folder, as it is now."""
        return reference_paths(self.own) if self.own else ()

    def state(self) -> frozenset[tuple[str, int, int]]:
        """Return what tells whether a file of the own folder is new, changed or gone."""
        found = [self.own, *self.own_paths] if self.own else []
        found += [file for path in found[1:] if path.is_dir() for file in path.iterdir()]
        return frozenset(_stamp(path) for path in found)

    @property
    def paths(self) -> tuple[Path, ...]:
        """All of them, those that win first."""
        return (*self.own_paths, *self.beside, *self.general)


@dataclass(frozen=True)
class Shelf:
    """The references to choose from, and the files that could not be read."""

    current: Mapping[str, Reference]
    faulty: Mapping[str, ReferenceFaultsError]
    general: frozenset[str] = frozenset()  # ids of those for what no other reference fits
    folders: Folders = field(default_factory=Folders)
    state: frozenset[tuple[str, int, int]] = frozenset()  # of the folders, when it was read

    @property
    def is_current(self) -> bool:
        """Whether the files are still those that were read; another process may write them."""
        return self.state == self.folders.state()

    @property
    def listed(self) -> tuple[Reference, ...]:
        """The references by title, the general ones last."""
        found = self.current.values()
        return tuple(sorted(found, key=lambda each: (each.id in self.general, each.title)))

    def get(self, reference_id: str) -> Reference:
        """Return the current edition of that reference."""
        try:
            return self.current[reference_id]
        except KeyError:
            raise NotFoundError.of(
                "reference",
                expected="one of " + (", ".join(sorted(self.current)) or "none, for none is here"),
                came=shown(reference_id),
                remedy="Choose one of these, or put its file into the references folder.",
            ) from None


def _stamp(path: Path) -> tuple[str, int, int]:
    try:
        found = path.stat()
    except OSError:  # gone in between
        return str(path), 0, 0
    return str(path), found.st_mtime_ns, found.st_size


def reference_paths(folder: Path) -> tuple[Path, ...]:
    """Return the references of a folder: its ``.toml`` files and its folders, by name."""
    if not folder.is_dir():
        return ()
    return tuple(
        path
        for path in sorted(folder.iterdir())
        if (path.suffix == ".toml" or path.is_dir()) and not path.name.startswith(".")
    )


def shelf_from(folders: Folders) -> Shelf:
    """Read what is in some folders, as it is now."""
    state = folders.state()  # before: what changes meanwhile is seen at the next look
    found = gather(folders.own_paths, beside=folders.beside, general=folders.general)
    return replace(found, folders=folders, state=state)


def gather(
    paths: Iterable[Path], *, beside: Iterable[Path] = (), general: Iterable[Path] = ()
) -> Shelf:
    """Read references; a faulty file is kept aside with its faults, the others are not held up.

    ``beside`` and ``general`` are those of the program, the latter for what no other reference
    fits: whoever puts another one of the same id into the folder has that in their place.
    """
    current: dict[str, Reference] = {}
    faulty: dict[str, ReferenceFaultsError] = {}
    for path in paths:
        try:
            reference = read_reference(path)
        except ReferenceFaultsError as error:
            faulty[path.name] = error
            continue
        if reference.id in current:
            faulty[path.name] = ReferenceFaultsError.of(
                f"{path.name}: id",
                expected="an id that no other reference here has",
                came=shown(reference.id),
                remedy="Give one of the two files another id, or take it out of the folder.",
            )
            continue
        current[reference.id] = reference
    for found in map(read_reference, beside):
        current.setdefault(found.id, found)
    ours = {found.id: found for found in map(read_reference, general)}
    for reference_id, reference in ours.items():
        current.setdefault(reference_id, reference)
    return Shelf(current, faulty, frozenset(ours))
