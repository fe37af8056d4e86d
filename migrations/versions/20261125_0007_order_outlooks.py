"""How the open orders stand, kept for Today."""

import sqlalchemy as sa
from alembic import op

revision = "0007"
down_revision = "0006"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "order_outlooks",
        sa.Column("order_id", sa.Integer(), nullable=False),
        sa.Column("data_version", sa.Integer(), nullable=False),
        sa.Column("worked_out_on", sa.Date(), nullable=False),
        sa.Column("batches", sa.Integer(), nullable=False),
        sa.Column("stuck", sa.Integer(), nullable=False),
        sa.Column("rooted", sa.Integer(), nullable=False),
        sa.Column("unrooted", sa.Integer(), nullable=False),
        sa.Column("potted", sa.Integer(), nullable=False),
        sa.Column("chance", sa.Double(), nullable=True),
        sa.Column("expected", sa.Integer(), nullable=False),
        sa.Column("low", sa.Integer(), nullable=False),
        sa.Column("high", sa.Integer(), nullable=False),
        sa.Column("unlikely", sa.Integer(), nullable=False),
        sa.Column("mend_stick", sa.Integer(), nullable=True),
        sa.Column("mend_by_on", sa.Date(), nullable=True),
        sa.Column("mend_refusal", sa.String(), nullable=False),
        sa.CheckConstraint(
            "chance IS NULL OR (chance >= 0 AND chance <= 1)",
            name=op.f("ck_order_outlooks_chance_range"),
        ),
        sa.CheckConstraint("unlikely IN (0, 1)", name=op.f("ck_order_outlooks_unlikely_flag")),
        sa.ForeignKeyConstraint(
            ["order_id"], ["orders.id"], name=op.f("fk_order_outlooks_order_id_orders")
        ),
        sa.PrimaryKeyConstraint("order_id", name=op.f("pk_order_outlooks")),
    )


def downgrade() -> None:
    op.drop_table("order_outlooks")
