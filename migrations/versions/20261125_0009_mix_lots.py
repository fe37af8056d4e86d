"""What went into mix lots, what was measured of them, and litres that batches used."""

import sqlalchemy as sa
from alembic import op

revision = "0009"
down_revision = "0008"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "mix_lot_measures",
        sa.Column("mix_lot_id", sa.Integer(), nullable=False),
        sa.Column("asked_l", sa.Double(), nullable=True),
        sa.Column("extraction", sa.String(), nullable=False),
        sa.Column("medium_ec", sa.Double(), nullable=True),
        sa.Column("medium_ph", sa.Double(), nullable=True),
        sa.Column("water_ec", sa.Double(), nullable=True),
        sa.Column("water_ph", sa.Double(), nullable=True),
        sa.Column("container", sa.String(), nullable=False),
        sa.Column("container_ml", sa.Double(), nullable=True),
        sa.Column("saturation_ml", sa.Double(), nullable=True),
        sa.Column("drained_ml", sa.Double(), nullable=True),
        sa.Column("made_at", sa.DateTime(), nullable=False),
        sa.Column("recorded_by_id", sa.Integer(), nullable=True),
        sa.Column("empty_on", sa.Date(), nullable=True),
        sa.Column("voided_at", sa.DateTime(), nullable=True),
        sa.Column("void_reason", sa.String(), nullable=False),
        sa.CheckConstraint(
            "asked_l IS NULL OR asked_l > 0", name=op.f("ck_mix_lot_measures_asked_positive")
        ),
        sa.CheckConstraint(
            "container_ml IS NULL OR (drained_ml >= 0 AND drained_ml <= saturation_ml AND saturation_ml <= container_ml)",
            name=op.f("ck_mix_lot_measures_porosity_in_order"),
        ),
        sa.CheckConstraint(
            "medium_ec IS NULL OR medium_ec >= 0",
            name=op.f("ck_mix_lot_measures_medium_ec_not_negative"),
        ),
        sa.CheckConstraint(
            "medium_ph IS NULL OR medium_ph BETWEEN 0 AND 14",
            name=op.f("ck_mix_lot_measures_medium_ph_range"),
        ),
        sa.CheckConstraint(
            "water_ec IS NULL OR water_ec >= 0",
            name=op.f("ck_mix_lot_measures_water_ec_not_negative"),
        ),
        sa.CheckConstraint(
            "water_ph IS NULL OR water_ph BETWEEN 0 AND 14",
            name=op.f("ck_mix_lot_measures_water_ph_range"),
        ),
        sa.ForeignKeyConstraint(
            ["mix_lot_id"], ["mix_lots.id"], name=op.f("fk_mix_lot_measures_mix_lot_id_mix_lots")
        ),
        sa.ForeignKeyConstraint(
            ["recorded_by_id"],
            ["people.id"],
            name=op.f("fk_mix_lot_measures_recorded_by_id_people"),
        ),
        sa.PrimaryKeyConstraint("mix_lot_id", name=op.f("pk_mix_lot_measures")),
    )
    op.create_table(
        "mix_lot_ingredients",
        sa.Column("mix_lot_id", sa.Integer(), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("ingredient_id", sa.Integer(), nullable=False),
        sa.Column("supplier_lot", sa.String(), nullable=False),
        sa.Column("litres", sa.Double(), nullable=True),
        sa.Column("bags", sa.Double(), nullable=True),
        sa.Column("bag_l", sa.Double(), nullable=True),
        sa.CheckConstraint(
            "litres IS NULL OR litres > 0", name=op.f("ck_mix_lot_ingredients_litres_positive")
        ),
        sa.ForeignKeyConstraint(
            ["ingredient_id"],
            ["ingredients.id"],
            name=op.f("fk_mix_lot_ingredients_ingredient_id_ingredients"),
        ),
        sa.ForeignKeyConstraint(
            ["mix_lot_id"], ["mix_lots.id"], name=op.f("fk_mix_lot_ingredients_mix_lot_id_mix_lots")
        ),
        sa.PrimaryKeyConstraint("mix_lot_id", "position", name=op.f("pk_mix_lot_ingredients")),
    )
    op.create_table(
        "mix_lot_uses",
        sa.Column("batch_id", sa.Integer(), nullable=False),
        sa.Column("mix_lot_id", sa.Integer(), nullable=False),
        sa.Column("litres", sa.Double(), nullable=False),
        sa.CheckConstraint("litres >= 0", name=op.f("ck_mix_lot_uses_litres_not_negative")),
        sa.ForeignKeyConstraint(
            ["batch_id"], ["batches.id"], name=op.f("fk_mix_lot_uses_batch_id_batches")
        ),
        sa.ForeignKeyConstraint(
            ["mix_lot_id"], ["mix_lots.id"], name=op.f("fk_mix_lot_uses_mix_lot_id_mix_lots")
        ),
        sa.PrimaryKeyConstraint("batch_id", "mix_lot_id", name=op.f("pk_mix_lot_uses")),
    )


def downgrade() -> None:
    op.drop_table("mix_lot_uses")
    op.drop_table("mix_lot_ingredients")
    op.drop_table("mix_lot_measures")
