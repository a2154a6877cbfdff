"""What the last steps added only grows too; the first documents of each device are counted quickly."""

import sqlalchemy as sa
from alembic import op

revision = "0009"
down_revision = "0008"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Let the database refuse what never happens, and make the index."""
    _forbid_changes[op.get_bind().dialect.name]()
    first = sa.text("number = 1")
    op.create_index(
        "ix_revision_first",
        "revision",
        ["device_id", "saved", "number"],  # the last so that the index is all that is read
        sqlite_where=first,
        postgresql_where=first,
    )


def _in_sqlite() -> None:
    """Do it for visits alone: the words about papers and the books have theirs."""
    for change in ("UPDATE", "DELETE"):
        op.execute(
            f"CREATE TRIGGER ended_visit_no_{change.lower()} BEFORE {change} ON ended_visit "
            "BEGIN SELECT RAISE(ABORT, 'ended_visit: rows are only ever added'); END"
        )


def _in_postgresql() -> None:
    for table in ("documented", "ended_visit"):
        _forbid(table, "UPDATE OR DELETE OR TRUNCATE", "rows are only ever added")
    _forbid("book", "DELETE OR TRUNCATE", "rows are never taken away")


def _forbid(table: str, change: str, why: str) -> None:
    op.execute(
        f"CREATE TRIGGER {table}_only_grows BEFORE {change} ON {table} "
        f"FOR EACH STATEMENT EXECUTE FUNCTION refuse_change('{why}')"
    )


_forbid_changes = {"sqlite": _in_sqlite, "postgresql": _in_postgresql}
