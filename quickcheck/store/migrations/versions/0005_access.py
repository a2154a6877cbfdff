"""Who may see what: books, roles of devices, codes for pairing, the organizer's secret.

What was there goes into the first book, whole.
"""

from datetime import UTC, datetime
from typing import Any
from uuid import UUID

import sqlalchemy as sa
from alembic import op

revision = "0005"
down_revision = "0004"
branch_labels = None
depends_on = None

# As it was when this step was written; 32 hex digits are a UUID to every database.
_FIRST = "b00c0000000040008000000000000001"


def upgrade() -> None:
    """Make the tables, and put all that is there into the first book."""
    _make_books()
    _make_secrets()
    for table in ("inspection", "parked", "device"):
        # No foreign key: SQLite adds none to a table that is there, and books are never taken away.
        op.add_column(table, _column("book_id", sa.Uuid(), given=_FIRST))
        op.add_column(table, _column("visit", sa.Uuid(), empty=True))
    op.create_index("ix_inspection_book_id_opened", "inspection", ["book_id", "opened"])
    op.add_column("device", _column("role", sa.String(16), given="dealer"))
    op.add_column("device", _moment("revoked", empty=True))
    op.add_column("device", _moment("unlocked", empty=True))
    if op.get_bind().dialect.name == "sqlite":
        op.execute(
            "CREATE TRIGGER book_no_delete BEFORE DELETE ON book "
            "BEGIN SELECT RAISE(ABORT, 'book: rows are never taken away'); END"
        )


def _column(
    name: str, kind: Any, *, empty: bool = False, given: str | None = None
) -> sa.Column[Any]:
    return sa.Column(name, kind, nullable=empty, server_default=given)


def _moment(name: str, *, empty: bool = False) -> sa.Column[Any]:
    return _column(name, sa.DateTime(timezone=True), empty=empty)


def _make_books() -> None:
    book = op.create_table(
        "book",
        _column("id", sa.Uuid()),
        _column("name", sa.Text()),
        _moment("made"),
        sa.PrimaryKeyConstraint("id", name="pk_book"),
    )
    now = datetime.now(UTC)
    op.bulk_insert(book, [{"id": UUID(_FIRST), "name": "This book", "made": now}])
    op.create_table(
        "offer",
        _column("code_sha256", sa.String(64)),
        _column("role", sa.String(16)),
        _column("book_id", sa.Uuid()),
        _column("name", sa.Text()),
        _moment("until"),
        sa.PrimaryKeyConstraint("code_sha256", name="pk_offer"),
    )
    op.create_table(
        "ended_visit",
        _column("token_sha256", sa.String(64)),
        _column("device_id", sa.Uuid()),
        _column("visit", sa.Uuid()),
        _moment("ended"),
        sa.PrimaryKeyConstraint("token_sha256", name="pk_ended_visit"),
    )


def _make_secrets() -> None:
    op.create_table(
        "organizer_secret",
        _column("id", sa.Integer()),
        _column("passphrase", sa.Text()),
        _column("pin", sa.Text(), empty=True),
        _moment("changed"),
        sa.PrimaryKeyConstraint("id", name="pk_organizer_secret"),
    )
    op.create_table(
        "secret_try",
        _column("id", sa.Integer()),
        _column("kind", sa.String(16)),
        _column("device_id", sa.Uuid(), empty=True),
        _moment("at"),
        _column("failed", sa.Boolean()),
        sa.PrimaryKeyConstraint("id", name="pk_secret_try"),
    )
    op.create_index("ix_secret_try_kind_at", "secret_try", ["kind", "at"])
