"""What a device tells of the inspections that were begun on it, so that a day's count can add up."""

import sqlalchemy as sa
from alembic import op

revision = "0008"
down_revision = "0007"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make the table, empty: no device has told anything yet."""
    numbers = ("made", "waiting", "discarded", "settled_before", "discarded_before")
    op.create_table(
        "device_tally",
        sa.Column("device_id", sa.Uuid(), nullable=False),
        *(sa.Column(name, sa.Integer(), nullable=False) for name in numbers),
        sa.Column("told", sa.DateTime(timezone=True), nullable=False),
        sa.PrimaryKeyConstraint("device_id", name="pk_device_tally"),
        sa.ForeignKeyConstraint(["device_id"], ["device.id"], name="fk_device_tally_device_id"),
    )
