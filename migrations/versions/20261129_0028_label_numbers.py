"""Numbers printed on labels ahead, and the batches that took them."""

import sqlalchemy as sa
from alembic import op

revision = "0028"
down_revision = "0027"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "label_runs",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("first", sa.Integer(), nullable=False),
        sa.Column("last", sa.Integer(), nullable=False),
        sa.Column("made_at", sa.DateTime(), nullable=False),
        sa.Column("recorded_by_id", sa.Integer(), nullable=True),
        sa.CheckConstraint("first > 0 AND last >= first", name=op.f("ck_label_runs_in_order")),
        sa.ForeignKeyConstraint(
            ["recorded_by_id"], ["people.id"], name=op.f("fk_label_runs_recorded_by_id_people")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_label_runs")),
        sa.UniqueConstraint("first", name=op.f("uq_label_runs_first")),
    )
    op.create_table(
        "batch_tags",
        sa.Column("number", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("batch_id", sa.Integer(), nullable=True),
        sa.CheckConstraint("number > 0", name=op.f("ck_batch_tags_number_positive")),
        sa.ForeignKeyConstraint(
            ["batch_id"], ["batches.id"], name=op.f("fk_batch_tags_batch_id_batches")
        ),
        sa.PrimaryKeyConstraint("number", name=op.f("pk_batch_tags")),
    )
    op.create_index("ix_batch_tags_batch_id", "batch_tags", ["batch_id"], unique=False)


def downgrade() -> None:
    op.drop_table("batch_tags")
    op.drop_table("label_runs")
