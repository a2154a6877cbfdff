"""The show: its name, its days, the address that codes lead to."""

import sqlalchemy as sa
from alembic import op

revision = "0007"
down_revision = "0006"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make the table."""
    op.create_table(
        "show",
        sa.Column("one", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("opens", sa.Date(), nullable=False),
        sa.Column("closes", sa.Date(), nullable=False),
        sa.Column("base_url", sa.Text(), nullable=False),
        sa.Column("noted", sa.DateTime(timezone=True), nullable=False),
        sa.PrimaryKeyConstraint("one", name="pk_show"),
        sa.CheckConstraint("one = 1", name="one_show"),
        sa.CheckConstraint("opens <= closes", name="in_order"),
    )
