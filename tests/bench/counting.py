"""What a server gives, counted as it leaves, and told by its weight."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from typing import Any

_PICTURES = ("/pictures/", ".png")
_REST = ("/device/later.json", "/js/readpage.js")


@dataclass(frozen=True)
class Given:
    """One reply as it left: path, bytes of its body and of its head."""

    path: str
    body: int
    head: int

    @property
    def is_rest(self) -> bool:
        """Whether a first visit does not wait for it."""
        return self.path.endswith(_REST)


@dataclass
class Counted:
    """A WSGI application that notes what it gives."""

    app: Callable[..., Iterable[bytes]]
    given: list[Given] = field(default_factory=list)

    def __call__(self, environ: dict[str, Any], start: Callable[..., Any]) -> Iterable[bytes]:
        """Answer a request."""
        head = 0

        def begin(status: str, headers: list[tuple[str, str]], *more: Any) -> Any:
            nonlocal head
            head = len(status) + 13 + sum(len(name) + len(value) + 4 for name, value in headers)
            return start(status, headers, *more)

        parts = list(self.app(environ, begin))
        self.given.append(Given(environ["PATH_INFO"], sum(map(len, parts)), head))
        return parts

    def take(self) -> list[Given]:
        """Return what was given since the last time, the pictures left out."""
        found, self.given = self.given, []
        return [one for one in found if not any(part in one.path for part in _PICTURES)]


def weigh(what: str, given: list[Given], target: int) -> None:
    """Print what was given, the heaviest first."""
    total, heads = sum(one.body for one in given), sum(one.head for one in given)
    print(f"\n{what}: {total:,} bytes in {len(given)} replies, and {heads:,} bytes of heads")
    by_path: dict[str, list[int]] = {}
    for one in given:
        by_path.setdefault(one.path, []).append(one.body)
    for path, sizes in sorted(by_path.items(), key=lambda item: -sum(item[1])):
        print(f"{sum(sizes):10,}  {path}{f'  {len(sizes)} times' if len(sizes) > 1 else ''}")
    print(f"target  at most {target:,} bytes: {'met' if total <= target else 'MISSED'}, {total:,}")
