"""Holds on suspect stock plants and batches, and on what may have caught it from them."""

import sqlalchemy as sa
from alembic import op

revision = "0017"
down_revision = "0016"
branch_labels = None
depends_on = None

_STILL_HELD = sa.text("lifted_at IS NULL")


def upgrade() -> None:
    op.create_table(
        "holds",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("stock_plant_id", sa.Integer(), nullable=True),
        sa.Column("batch_id", sa.Integer(), nullable=True),
        sa.Column("suspected", sa.String(), nullable=False),
        sa.Column("since_on", sa.Date(), nullable=True),
        sa.Column("ways", sa.String(), nullable=False),
        sa.Column("placed_on", sa.Date(), nullable=False),
        sa.Column("placed_at", sa.DateTime(), nullable=False),
        sa.Column("placed_by_id", sa.Integer(), nullable=True),
        sa.Column("lifted_at", sa.DateTime(), nullable=True),
        sa.Column("lifted_by_id", sa.Integer(), nullable=True),
        sa.Column("lift_reason", sa.String(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.CheckConstraint(
            "(stock_plant_id IS NULL) <> (batch_id IS NULL)", name=op.f("ck_holds_one_suspect")
        ),
        *(
            sa.ForeignKeyConstraint([column], [f"{table}.id"], name=op.f(name))
            for column, table, name in (
                ("stock_plant_id", "stock_plants", "fk_holds_stock_plant_id_stock_plants"),
                ("batch_id", "batches", "fk_holds_batch_id_batches"),
                ("placed_by_id", "people", "fk_holds_placed_by_id_people"),
                ("lifted_by_id", "people", "fk_holds_lifted_by_id_people"),
            )
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_holds")),
        sa.UniqueConstraint("number", name=op.f("uq_holds_number")),
    )
    op.create_index("ix_holds_batch_id", "holds", ["batch_id"], unique=False)
    op.create_index("ix_holds_stock_plant_id", "holds", ["stock_plant_id"], unique=False)
    op.create_table(
        "hold_items",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("hold_id", sa.Integer(), nullable=False),
        sa.Column("stock_plant_id", sa.Integer(), nullable=True),
        sa.Column("batch_id", sa.Integer(), nullable=True),
        sa.Column("way", sa.String(), nullable=False),
        sa.Column("state_before", sa.String(), nullable=False),
        sa.Column("reason_before", sa.String(), nullable=False),
        sa.Column("held_at", sa.DateTime(), nullable=False),
        sa.Column("lifted_at", sa.DateTime(), nullable=True),
        sa.Column("lifted_by_id", sa.Integer(), nullable=True),
        sa.Column("lift_reason", sa.String(), nullable=False),
        sa.CheckConstraint(
            "(stock_plant_id IS NULL) <> (batch_id IS NULL)", name=op.f("ck_hold_items_one_thing")
        ),
        *(
            sa.ForeignKeyConstraint([column], [f"{table}.id"], name=op.f(name))
            for column, table, name in (
                ("hold_id", "holds", "fk_hold_items_hold_id_holds"),
                ("stock_plant_id", "stock_plants", "fk_hold_items_stock_plant_id_stock_plants"),
                ("batch_id", "batches", "fk_hold_items_batch_id_batches"),
                ("lifted_by_id", "people", "fk_hold_items_lifted_by_id_people"),
            )
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_hold_items")),
    )
    op.create_index("ix_hold_items_hold_id", "hold_items", ["hold_id"], unique=False)
    for column in ("batch", "stock_plant"):
        op.create_index(
            f"ix_hold_items_{column}_held",
            "hold_items",
            [f"{column}_id"],
            unique=False,
            sqlite_where=_STILL_HELD,
            postgresql_where=_STILL_HELD,
        )


def downgrade() -> None:
    op.drop_table("hold_items")
    op.drop_table("holds")
