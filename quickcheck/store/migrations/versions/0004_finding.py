"""Words as they are found now; writers that don't queue; PostgreSQL refuses changes too.

The index of the words is no part of the steps: see `quickcheck.store.index`.
"""

from typing import Final

import sqlalchemy as sa
from alembic import op

from quickcheck.store.documents import spaced

revision = "0004"
down_revision = "0003"
branch_labels = None
depends_on = None

_SHARDS: Final = 16
_APPEND_ONLY: Final = (
    *("edition", "picture", "edition_picture", "revision", "conflict"),
    *("start", "photo", "inspection_photo", "judgement_difference", "parked"),
    *("card", "recall"),
)


def upgrade() -> None:
    """Make the table, and bring what is there to the new form."""
    _make_tally()
    _space_words()
    if op.get_bind().dialect.name == "postgresql":
        _forbid_changes()


def _make_tally() -> None:
    """Spread the count of the writes over a few rows."""
    tally = op.create_table(
        "tally",
        sa.Column("shard", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("commits", sa.BigInteger(), nullable=False),
        sa.PrimaryKeyConstraint("shard", name="pk_tally"),
    )
    op.bulk_insert(tally, [{"shard": shard, "commits": 0} for shard in range(_SHARDS)])
    op.execute("UPDATE tally SET commits = (SELECT commits FROM server) WHERE shard = 0")
    with op.batch_alter_table("server") as server:
        server.drop_column("commits")


def _space_words() -> None:
    inspection = sa.table("inspection", sa.column("id"), sa.column("words"))
    connection = op.get_bind()
    change = (
        sa.update(inspection)
        .where(inspection.c.id == sa.bindparam("which"))
        .values(words=sa.bindparam("new"))
    )
    for found, words in connection.execute(sa.select(inspection)).all():
        connection.execute(change, {"which": found, "new": spaced(words)})


def _forbid_changes() -> None:
    """Let the database itself refuse to change or drop what was kept, as SQLite does."""
    op.execute(
        "CREATE FUNCTION refuse_change() RETURNS trigger LANGUAGE plpgsql AS "
        "$$ BEGIN RAISE EXCEPTION '%: %', TG_TABLE_NAME, TG_ARGV[0]; END $$"
    )
    for table in _APPEND_ONLY:
        _forbid(table, "UPDATE OR DELETE OR TRUNCATE", "rows are only ever added")
    _forbid("issuer_key", "DELETE OR TRUNCATE", "rows are only ever added")
    fixed = "UPDATE OF id, public, issuer, made"
    _forbid("issuer_key", fixed, "a key stays what it is", name="issuer_key_stays")


def _forbid(table: str, change: str, why: str, *, name: str = "") -> None:
    # For the statement as a whole, as TRUNCATE has no rows.
    op.execute(
        f"CREATE TRIGGER {name or f'{table}_only_grows'} BEFORE {change} ON {table} "
        f"FOR EACH STATEMENT EXECUTE FUNCTION refuse_change('{why}')"
    )
