"""Papers: which inspections are of documented instruments, and every word that was said of it."""

import sqlalchemy as sa
from alembic import op

revision = "0006"
down_revision = "0005"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make the table."""
    op.create_table(
        "documented",
        sa.Column("inspection_id", sa.Uuid(), nullable=False),
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("back", sa.Integer(), nullable=True),
        sa.Column("kind", sa.String(16), nullable=False),
        sa.Column("first", sa.Integer(), nullable=True),
        sa.Column("last", sa.Integer(), nullable=True),
        sa.Column("doubt", sa.Float(), nullable=True),
        sa.Column("note", sa.Text(), nullable=False),
        sa.Column("said", sa.DateTime(timezone=True), nullable=False),
        sa.PrimaryKeyConstraint("inspection_id", "number", name="pk_documented"),
        sa.ForeignKeyConstraint(
            ["inspection_id"], ["inspection.id"], name="fk_documented_inspection_id"
        ),
    )
    if op.get_bind().dialect.name == "sqlite":
        _forbid_changes()


def _forbid_changes() -> None:
    """Let the file itself refuse to change or drop what was kept, whatever program asks."""
    for change in ("UPDATE", "DELETE"):
        why = "documented: rows are only ever added"
        op.execute(
            f"CREATE TRIGGER documented_no_{change.lower()} BEFORE {change} ON documented "
            f"BEGIN SELECT RAISE(ABORT, '{why}'); END"
        )
