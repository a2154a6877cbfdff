"""Sealing: issuer keys (public halves only), issued cards, recalls."""

from typing import Any

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"
branch_labels = None
depends_on = None

_APPEND_ONLY = ("card", "recall")
_FIXED = ("id", "public", "issuer", "made")  # of a key


def upgrade() -> None:
    """Make the tables."""
    _make_keys()
    _make_cards()
    if op.get_bind().dialect.name == "sqlite":
        _forbid_changes()


def _column(name: str, kind: Any, *, empty: bool = False) -> sa.Column[Any]:
    return sa.Column(name, kind, nullable=empty)


def _moment(name: str, *, empty: bool = False) -> sa.Column[Any]:
    return _column(name, sa.DateTime(timezone=True), empty=empty)


def _make_keys() -> None:
    op.create_table(
        "issuer_key",
        _column("id", sa.String(8)),
        _column("public", sa.LargeBinary()),
        _column("issuer", sa.Text()),
        _moment("made"),
        _moment("retired", empty=True),
        _moment("revoked", empty=True),
        sa.PrimaryKeyConstraint("id", name="pk_issuer_key"),
    )


def _make_cards() -> None:
    op.create_table(
        "card",
        _column("id", sa.String(16)),
        _column("key_id", sa.String(8)),
        _column("serial", sa.Text()),
        _column("number", sa.Integer()),
        _moment("issued"),
        _column("data", sa.LargeBinary()),
        _column("source", sa.String(64), empty=True),
        _column("inspection_id", sa.Uuid(), empty=True),
        sa.PrimaryKeyConstraint("id", name="pk_card"),
        sa.ForeignKeyConstraint(["key_id"], ["issuer_key.id"], name="fk_card_key_id"),
        sa.UniqueConstraint("key_id", "serial", "number", name="uq_card_key_id_serial_number"),
        sa.UniqueConstraint("source", name="uq_card_source"),
    )
    op.create_index("ix_card_serial_issued", "card", ["serial", "issued"])
    op.create_table(
        "recall",
        _column("card_id", sa.String(16)),
        _column("kind", sa.String(16)),
        _moment("at"),
        _column("by_id", sa.String(16), empty=True),
        sa.PrimaryKeyConstraint("card_id", name="pk_recall"),
        sa.ForeignKeyConstraint(["card_id"], ["card.id"], name="fk_recall_card_id"),
        sa.ForeignKeyConstraint(["by_id"], ["card.id"], name="fk_recall_by_id"),
        sa.CheckConstraint("(kind = 'corrected') = (by_id IS NOT NULL)", name="by_a_card"),
    )


def _forbid_changes() -> None:
    """Let the file itself refuse to change or drop what was kept, whatever program asks."""
    for table in _APPEND_ONLY:
        for change in ("UPDATE", "DELETE"):
            _forbid(table, change, f"{table}: rows are only ever added")
    _forbid("issuer_key", "DELETE", "issuer_key: rows are only ever added")
    _forbid("issuer_key", f"UPDATE OF {', '.join(_FIXED)}", "issuer_key: a key stays what it is")


def _forbid(table: str, change: str, why: str) -> None:
    name = f"{table}_no_{change.split(maxsplit=1)[0].lower()}"
    op.execute(
        f"CREATE TRIGGER {name} BEFORE {change} ON {table} BEGIN SELECT RAISE(ABORT, '{why}'); END"
    )
