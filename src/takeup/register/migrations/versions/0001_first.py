"""Changes, revisions, heads, results."""

import sqlalchemy as sa
from alembic import op

from takeup.register.schema import UtcDateTime

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make the first tables."""
    op.create_table(
        "change",
        sa.Column("id", sa.Integer, autoincrement=True, nullable=False),
        sa.Column("time", UtcDateTime(), nullable=False),
        sa.Column("author", sa.Text, nullable=False),
        sa.Column("reason", sa.Text, nullable=False),
        sa.Column("facts", sa.Integer, nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_change"),
    )
    op.create_table(
        "revision",
        sa.Column("kind", sa.Text, nullable=False),
        sa.Column("id", sa.Text, nullable=False),
        sa.Column("number", sa.Integer, autoincrement=False, nullable=False),
        sa.Column("change", sa.Integer, nullable=False),
        sa.Column("key", sa.Text, nullable=False),
        sa.Column("body", sa.LargeBinary, nullable=True),
        sa.Column("hash", sa.Text, nullable=False),
        sa.Column("previous", sa.Text, nullable=False),
        sa.Column("joint", sa.Text, nullable=False),
        sa.ForeignKeyConstraint(["change"], ["change.id"], name="fk_revision_change_change"),
        sa.PrimaryKeyConstraint("kind", "id", "number", name="pk_revision"),
    )
    op.create_index("ix_revision_change", "revision", ["change"])
    op.create_index("ix_revision_joint", "revision", ["joint"])
    op.create_table(
        "head",
        sa.Column("kind", sa.Text, nullable=False),
        sa.Column("id", sa.Text, nullable=False),
        sa.Column("number", sa.Integer, nullable=False),
        sa.Column("hash", sa.Text, nullable=False),
        sa.Column("body", sa.LargeBinary, nullable=True),
        sa.Column("key", sa.Text, nullable=False),
        sa.PrimaryKeyConstraint("kind", "id", name="pk_head"),
    )
    op.create_table(
        "result",
        sa.Column("serial", sa.Integer, autoincrement=True, nullable=False),
        sa.Column("kind", sa.Text, nullable=False),
        sa.Column("id", sa.Text, nullable=False),
        sa.Column("key", sa.Text, nullable=False),
        sa.Column("inputs_hash", sa.Text, nullable=False),
        sa.Column("version", sa.Text, nullable=False),
        sa.Column("time", UtcDateTime(), nullable=False),
        sa.Column("body", sa.LargeBinary, nullable=False),
        sa.PrimaryKeyConstraint("serial", name="pk_result"),
    )
    op.create_index("ix_result_kind_id_serial", "result", ["kind", "id", "serial"])


def downgrade() -> None:
    """Facts are never thrown away: going back is restoring a copy."""
    raise RuntimeError("the first tables are not removed; restore a copy of the store instead")
