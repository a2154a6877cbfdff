"""Photos: kept re-encoded, under the hash of what the phone sent."""

from dataclasses import dataclass
from datetime import datetime
from hashlib import sha256
from typing import Final
from uuid import UUID

from sqlalchemy import select

from quickcheck.errors import NotFoundError, StoreError, shown
from quickcheck.store import queries, revisions
from quickcheck.store.documents import is_hash
from quickcheck.store.records import in_utc
from quickcheck.store.scope import Scoped
from quickcheck.store.sync_tables import InspectionPhotoRow, PhotoRow

_OF_INSPECTION: Final = (
    select(PhotoRow.content_type, PhotoRow.content, PhotoRow.content_sha256)
    .join(InspectionPhotoRow, InspectionPhotoRow.sha256 == PhotoRow.sha256)
    .limit(1)
)


@dataclass(frozen=True, slots=True)
class Photo:
    """A picture that our own decoder read and our own encoder wrote."""

    content_type: str
    content: bytes


class Photos(Scoped):
    """The photos of the inspections of a scope; none is ever changed or taken away."""

    def has(self, name: str) -> bool:
        """Whether the photo of that hash is here, from whatever inspection of whatever scope.

        For whoever has its bytes, as `keep` would be in vain then; nobody else is told.
        """
        query = select(PhotoRow.sha256).where(PhotoRow.sha256 == name)
        with self._database.reading() as connection:
            return connection.scalar(query) is not None

    def keep(
        self, inspection: UUID, name: str, photo: Photo | None, *, now: datetime
    ) -> tuple[str, ...]:
        """Keep a photo (None: it is here already); return those that are still missing.

        One that no document speaks of is kept all the same, at no point.
        """
        with self._database.writing() as connection:
            self.scope.check(connection, inspection)
            saved = revisions.find_to_write(connection, inspection)
            which = {"inspection": inspection}
            announced = {row.sha256 for row in connection.execute(queries.ANNOUNCED, which)}
            if name not in announced:
                place = {"inspection_id": saved.id, "point": "", "sha256": name}
                connection.execute(queries.ANNOUNCE, {**place, "announced": in_utc(now)})
            if photo and connection.scalar(queries.PHOTO, {"sha256": name}) is None:
                row = {
                    "sha256": name,
                    "content_type": photo.content_type,
                    "content": photo.content,
                    "content_sha256": sha256(photo.content).hexdigest(),
                    "made": in_utc(now),
                }
                # The same photo may come for another inspection at this moment.
                if queries.added(connection, PhotoRow, row):
                    queries.count(connection, inspection)
            return tuple(connection.scalars(queries.MISSING, which))

    def missing(self, inspection: UUID) -> tuple[str, ...]:
        """Return the photos that were announced and have not come."""
        with self._database.reading() as connection:
            self.scope.check(connection, inspection)
            return tuple(connection.scalars(queries.MISSING, {"inspection": inspection}))

    def get(self, inspection: UUID, name: str) -> Photo:
        """Return a photo of an inspection."""
        query = _OF_INSPECTION.where(
            InspectionPhotoRow.inspection_id == inspection, PhotoRow.sha256 == name
        )
        with self._database.reading() as connection:
            self.scope.need(connection, inspection)
            # PostgreSQL takes no text with a NUL in it, not even to look for
            row = connection.execute(query).one_or_none() if is_hash(name) else None
        if row is None:
            raise NotFoundError.of(
                "photo",
                expected="a photo of this inspection that has arrived",
                came=shown(name),
                remedy="One that is only on a phone must be sent first.",
            )
        if sha256(row.content).hexdigest() != row.content_sha256:
            raise StoreError.of(
                f"{self._database.place}: photo",
                expected=f"content with the SHA-256 {row.content_sha256}",
                came="other content",
                remedy="The file is damaged: keep a copy of it and put back the last backup.",
            )
        return Photo(row.content_type, row.content)
