"""Sending: which book this is, devices, photos, differences of judgement, parked documents."""

import secrets
from typing import Any

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None

_APPEND_ONLY = ("start", "photo", "inspection_photo", "judgement_difference", "parked")


def upgrade() -> None:
    """Make the tables, and give the book its name."""
    _make_server()
    _make_devices()
    _make_photos()
    _make_kept()
    for table in ("revision", "conflict"):
        op.add_column(table, sa.Column("device_id", sa.Uuid()))
    if op.get_bind().dialect.name == "sqlite":
        _forbid_changes()


def _column(name: str, kind: Any, *, empty: bool = False) -> sa.Column[Any]:
    return sa.Column(name, kind, nullable=empty)


def _moment(name: str, *, empty: bool = False) -> sa.Column[Any]:
    return _column(name, sa.DateTime(timezone=True), empty=empty)


def _make_server() -> None:
    server = op.create_table(
        "server",
        _column("id", sa.Integer()),
        _column("book", sa.String(32)),
        _column("epoch", sa.String(32)),
        _column("commits", sa.BigInteger()),
        _column("noticed", sa.Integer(), empty=True),
        sa.PrimaryKeyConstraint("id", name="pk_server"),
    )
    op.create_table(
        "start",
        _column("number", sa.Integer()),
        _column("token", sa.String(32)),
        _column("commits", sa.BigInteger()),
        _moment("began"),
        sa.PrimaryKeyConstraint("number", name="pk_start"),
        sa.UniqueConstraint("token", name="uq_start_token"),
    )
    names = {"book": secrets.token_hex(16), "epoch": secrets.token_hex(16)}
    op.bulk_insert(server, [{"id": 1, "commits": 0, "noticed": None, **names}])


def _make_devices() -> None:
    op.create_table(
        "device",
        _column("id", sa.Uuid()),
        _column("token_sha256", sa.String(64)),
        _column("name", sa.Text()),
        _moment("first_seen"),
        _moment("last_seen"),
        _column("unsent", sa.Integer(), empty=True),
        _column("skew", sa.Double(), empty=True),
        _moment("told", empty=True),
        sa.PrimaryKeyConstraint("id", name="pk_device"),
        sa.UniqueConstraint("token_sha256", name="uq_device_token_sha256"),
    )


def _make_photos() -> None:
    op.create_table(
        "photo",
        _column("sha256", sa.String(64)),
        _column("content_type", sa.String(32)),
        _column("content", sa.LargeBinary()),
        _column("content_sha256", sa.String(64)),
        _moment("made"),
        sa.PrimaryKeyConstraint("sha256", name="pk_photo"),
    )
    op.create_table(
        "inspection_photo",
        _column("inspection_id", sa.Uuid()),
        _column("point", sa.Text()),
        _column("sha256", sa.String(64)),
        _moment("announced"),
        sa.PrimaryKeyConstraint("inspection_id", "point", "sha256", name="pk_inspection_photo"),
        sa.ForeignKeyConstraint(
            ["inspection_id"], ["inspection.id"], name="fk_inspection_photo_inspection_id"
        ),
    )


def _make_kept() -> None:
    op.create_table(
        "judgement_difference",
        _column("inspection_id", sa.Uuid()),
        _column("revision", sa.Integer()),
        _column("phone", sa.Text()),
        _column("server", sa.Text()),
        _column("rules", sa.Integer()),
        _moment("noticed"),
        sa.PrimaryKeyConstraint("inspection_id", "revision", name="pk_judgement_difference"),
        sa.ForeignKeyConstraint(
            ["inspection_id", "revision"],
            ["revision.inspection_id", "revision.number"],
            name="fk_judgement_difference_inspection_id_revision",
        ),
    )
    op.create_table(
        "parked",
        _column("id", sa.Integer()),
        _column("inspection_id", sa.Uuid()),
        _column("edition_hash", sa.String(64)),
        _column("base", sa.Integer()),
        _column("current", sa.Integer()),
        _column("reason", sa.Text()),
        _moment("saved"),
        _column("sha256", sa.String(64)),
        _column("document", sa.Text()),
        _column("device_id", sa.Uuid(), empty=True),
        sa.PrimaryKeyConstraint("id", name="pk_parked"),
        sa.UniqueConstraint(
            "inspection_id", "base", "sha256", name="uq_parked_inspection_id_base_sha256"
        ),
    )


def _forbid_changes() -> None:
    """Let the file itself refuse to change or drop what was kept, whatever program asks."""
    for table in _APPEND_ONLY:
        for change in ("UPDATE", "DELETE"):
            op.execute(
                f"CREATE TRIGGER {table}_no_{change.lower()} BEFORE {change} ON {table} "
                f"BEGIN SELECT RAISE(ABORT, '{table}: rows are only ever added'); END"
            )
