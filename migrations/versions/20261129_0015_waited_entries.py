"""When entries that waited on a device were recorded there."""

import sqlalchemy as sa
from alembic import op

revision = "0015"
down_revision = "0014"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "waited_entries",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("check_id", sa.Integer(), nullable=True),
        sa.Column("batch_id", sa.Integer(), nullable=True),
        sa.Column("recorded_at", sa.DateTime(), nullable=False),
        sa.Column("received_at", sa.DateTime(), nullable=False),
        sa.Column("doubtful", sa.Integer(), nullable=False),
        sa.Column("mark", sa.String(), nullable=False),
        sa.CheckConstraint(
            "(check_id IS NULL) <> (batch_id IS NULL)",
            name=op.f("ck_waited_entries_of_one_record"),
        ),
        sa.CheckConstraint("doubtful IN (0, 1)", name=op.f("ck_waited_entries_doubtful_flag")),
        sa.ForeignKeyConstraint(
            ["check_id"], ["checks.id"], name=op.f("fk_waited_entries_check_id_checks")
        ),
        sa.ForeignKeyConstraint(
            ["batch_id"], ["batches.id"], name=op.f("fk_waited_entries_batch_id_batches")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_waited_entries")),
        sa.UniqueConstraint("check_id", name=op.f("uq_waited_entries_check_id")),
        sa.UniqueConstraint("batch_id", name=op.f("uq_waited_entries_batch_id")),
    )
    op.create_index("ix_waited_entries_mark", "waited_entries", ["mark"], unique=False)


def downgrade() -> None:
    op.drop_index("ix_waited_entries_mark", table_name="waited_entries")
    op.drop_table("waited_entries")
