"""Orders, and the batches that count to them."""

import sqlalchemy as sa
from alembic import op

revision = "0005"
down_revision = "0004"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "orders",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("plant_name_id", sa.Integer(), nullable=True),
        sa.Column("genus_id", sa.Integer(), nullable=True),
        sa.Column("plants", sa.Integer(), nullable=False),
        sa.Column("due_on", sa.Date(), nullable=False),
        sa.Column("sure_share", sa.Double(), nullable=False),
        sa.Column("place", sa.String(), nullable=False),
        sa.Column("per_place", sa.Integer(), nullable=False),
        sa.Column("enough_per_place", sa.Integer(), nullable=False),
        sa.Column("for_whom", sa.String(), nullable=False),
        sa.Column("cutting_type", sa.String(), nullable=False),
        sa.Column("hormone_id", sa.Integer(), nullable=True),
        sa.Column("batches", sa.Integer(), nullable=False),
        sa.Column("window_weeks", sa.Integer(), nullable=False),
        sa.Column("ready_share", sa.Double(), nullable=True),
        sa.Column("weaning_days", sa.Integer(), nullable=True),
        sa.Column("state", sa.String(), nullable=False),
        sa.Column("ended_on", sa.Date(), nullable=True),
        sa.Column("ended_reason", sa.String(), nullable=False),
        sa.Column("made_at", sa.DateTime(), nullable=False),
        sa.Column("notes", sa.String(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.CheckConstraint(
            "(state = 'open') = (ended_on IS NULL)", name=op.f("ck_orders_ended_when_not_open")
        ),
        sa.CheckConstraint("place IN ('plug', 'pot')", name=op.f("ck_orders_known_place")),
        sa.CheckConstraint(
            "state IN ('open', 'met', 'closed')", name=op.f("ck_orders_known_state")
        ),
        sa.CheckConstraint(
            "(plant_name_id IS NULL) <> (genus_id IS NULL)", name=op.f("ck_orders_one_plant")
        ),
        sa.CheckConstraint("batches >= 1", name=op.f("ck_orders_batches_positive")),
        sa.CheckConstraint(
            "enough_per_place >= 1 AND per_place >= enough_per_place",
            name=op.f("ck_orders_places_in_order"),
        ),
        sa.CheckConstraint("plants > 0", name=op.f("ck_orders_plants_positive")),
        sa.CheckConstraint(
            "ready_share IS NULL OR (ready_share > 0 AND ready_share <= 1)",
            name=op.f("ck_orders_ready_range"),
        ),
        sa.CheckConstraint("sure_share > 0 AND sure_share < 1", name=op.f("ck_orders_sure_range")),
        sa.CheckConstraint(
            "weaning_days IS NULL OR weaning_days >= 0", name=op.f("ck_orders_weaning_not_negative")
        ),
        sa.CheckConstraint("window_weeks >= 1", name=op.f("ck_orders_window_positive")),
        sa.ForeignKeyConstraint(
            ["genus_id"], ["genera.id"], name=op.f("fk_orders_genus_id_genera")
        ),
        sa.ForeignKeyConstraint(
            ["hormone_id"], ["hormones.id"], name=op.f("fk_orders_hormone_id_hormones")
        ),
        sa.ForeignKeyConstraint(
            ["plant_name_id"], ["plant_names.id"], name=op.f("fk_orders_plant_name_id_plant_names")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_orders")),
        sa.UniqueConstraint("number", name=op.f("uq_orders_number")),
    )
    op.create_table(
        "order_batches",
        sa.Column("batch_id", sa.Integer(), nullable=False),
        sa.Column("order_id", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(
            ["batch_id"], ["batches.id"], name=op.f("fk_order_batches_batch_id_batches")
        ),
        sa.ForeignKeyConstraint(
            ["order_id"], ["orders.id"], name=op.f("fk_order_batches_order_id_orders")
        ),
        sa.PrimaryKeyConstraint("batch_id", name=op.f("pk_order_batches")),
    )
    op.create_index("ix_order_batches_order_id", "order_batches", ["order_id"], unique=False)


def downgrade() -> None:
    op.drop_index("ix_order_batches_order_id", table_name="order_batches")
    op.drop_table("order_batches")
    op.drop_table("orders")
