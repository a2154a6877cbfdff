"""Library and book: editions with pictures, inspections with revisions, late documents."""

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None

_APPEND_ONLY = ("edition", "picture", "edition_picture", "revision", "conflict")


def upgrade() -> None:
    """Make the tables."""
    _make_library()
    _make_book()
    _forbid_changes(_APPEND_ONLY if op.get_bind().dialect.name == "sqlite" else ())


def _make_library() -> None:
    op.create_table(
        "edition",
        sa.Column("hash", sa.String(64), nullable=False),
        sa.Column("reference_id", sa.Text(), nullable=False),
        sa.Column("title", sa.Text(), nullable=False),
        sa.Column("edition", sa.Text(), nullable=False),
        sa.Column("canonical", sa.LargeBinary(), nullable=False),
        sa.Column("kept", sa.DateTime(timezone=True), nullable=False),
        sa.PrimaryKeyConstraint("hash", name="pk_edition"),
    )
    op.create_index("ix_edition_reference_id", "edition", ["reference_id"])
    op.create_table(
        "picture",
        sa.Column("hash", sa.String(64), nullable=False),
        sa.Column("content", sa.LargeBinary(), nullable=False),
        sa.PrimaryKeyConstraint("hash", name="pk_picture"),
    )
    op.create_table(
        "edition_picture",
        sa.Column("edition_hash", sa.String(64), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("picture_hash", sa.String(64), nullable=False),
        sa.PrimaryKeyConstraint("edition_hash", "name", name="pk_edition_picture"),
        sa.ForeignKeyConstraint(
            ["edition_hash"], ["edition.hash"], name="fk_edition_picture_edition_hash"
        ),
        sa.ForeignKeyConstraint(
            ["picture_hash"], ["picture.hash"], name="fk_edition_picture_picture_hash"
        ),
    )


def _make_book() -> None:
    op.create_table(
        "inspection",
        sa.Column("id", sa.Uuid(), nullable=False),
        sa.Column("edition_hash", sa.String(64), nullable=False),
        sa.Column("current", sa.Integer(), nullable=False),
        sa.Column("opened", sa.DateTime(timezone=True), nullable=False),
        sa.Column("saved", sa.DateTime(timezone=True), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("serial", sa.Text(), nullable=False),
        sa.Column("words", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_inspection"),
        sa.ForeignKeyConstraint(
            ["edition_hash"], ["edition.hash"], name="fk_inspection_edition_hash"
        ),
    )
    op.create_index("ix_inspection_edition_hash", "inspection", ["edition_hash"])
    op.create_index("ix_inspection_opened_id", "inspection", ["opened", "id"])
    op.create_table(
        "revision",
        sa.Column("inspection_id", sa.Uuid(), nullable=False),
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("back", sa.Integer()),
        sa.Column("kind", sa.String(8), nullable=False),
        *_document_columns(),
        sa.PrimaryKeyConstraint("inspection_id", "number", name="pk_revision"),
        sa.ForeignKeyConstraint(
            ["inspection_id"], ["inspection.id"], name="fk_revision_inspection_id"
        ),
    )
    op.create_table(
        "conflict",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("inspection_id", sa.Uuid(), nullable=False),
        sa.Column("base", sa.Integer(), nullable=False),
        sa.Column("current", sa.Integer(), nullable=False),
        *_document_columns(),
        sa.PrimaryKeyConstraint("id", name="pk_conflict"),
        sa.ForeignKeyConstraint(
            ["inspection_id", "current"],
            ["revision.inspection_id", "revision.number"],
            name="fk_conflict_inspection_id_current",
        ),
        sa.UniqueConstraint(
            "inspection_id", "base", "sha256", name="uq_conflict_inspection_id_base_sha256"
        ),
    )


def _document_columns() -> tuple[sa.Column[object], ...]:
    return (
        sa.Column("saved", sa.DateTime(timezone=True), nullable=False),
        sa.Column("sha256", sa.String(64), nullable=False),
        sa.Column("document", sa.Text(), nullable=False),
    )


def _forbid_changes(tables: tuple[str, ...]) -> None:
    """Let the file itself refuse to change or drop what was kept, whatever program asks."""
    for table in tables:
        for change in ("UPDATE", "DELETE"):
            op.execute(
                f"CREATE TRIGGER {table}_no_{change.lower()} BEFORE {change} ON {table} "
                f"BEGIN SELECT RAISE(ABORT, '{table}: rows are only ever added'); END"
            )
