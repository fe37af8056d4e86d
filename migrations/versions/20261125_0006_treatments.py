"""Treatments and hygiene, and what they reached."""

import sqlalchemy as sa
from alembic import op

revision = "0006"
down_revision = "0005"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "treatments",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("kind", sa.String(), nullable=False),
        sa.Column("what", sa.String(), nullable=False),
        sa.Column("rate", sa.String(), nullable=False),
        sa.Column("target", sa.String(), nullable=False),
        sa.Column("way", sa.String(), nullable=False),
        sa.Column("begun_at", sa.DateTime(), nullable=False),
        sa.Column("begun_on", sa.Date(), nullable=False),
        sa.Column("reentry_at", sa.DateTime(), nullable=True),
        sa.Column("by_id", sa.Integer(), nullable=True),
        sa.Column("recorded_by_id", sa.Integer(), nullable=True),
        sa.Column("made_at", sa.DateTime(), nullable=False),
        sa.Column("notes", sa.String(), nullable=False),
        sa.Column("withdrawn_at", sa.DateTime(), nullable=True),
        sa.Column("withdrawn_by_id", sa.Integer(), nullable=True),
        sa.Column("withdraw_reason", sa.String(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.CheckConstraint(
            "kind IN ('plant protection', 'biological control', 'feed', 'disinfectant', 'bench cleaning', 'tool disinfection', 'mist setting', 'heat setting', 'other work')",
            name=op.f("ck_treatments_known_kind"),
        ),
        sa.CheckConstraint(
            "reentry_at IS NULL OR reentry_at >= begun_at", name=op.f("ck_treatments_reentry_after")
        ),
        sa.ForeignKeyConstraint(["by_id"], ["people.id"], name=op.f("fk_treatments_by_id_people")),
        sa.ForeignKeyConstraint(
            ["recorded_by_id"], ["people.id"], name=op.f("fk_treatments_recorded_by_id_people")
        ),
        sa.ForeignKeyConstraint(
            ["withdrawn_by_id"], ["people.id"], name=op.f("fk_treatments_withdrawn_by_id_people")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_treatments")),
        sa.UniqueConstraint("number", name=op.f("uq_treatments_number")),
    )
    op.create_index("ix_treatments_begun_on", "treatments", ["begun_on"], unique=False)
    op.create_index("ix_treatments_reentry_at", "treatments", ["reentry_at"], unique=False)
    op.create_table(
        "treatment_benches",
        sa.Column("treatment_id", sa.Integer(), nullable=False),
        sa.Column("bench_id", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(
            ["bench_id"], ["benches.id"], name=op.f("fk_treatment_benches_bench_id_benches")
        ),
        sa.ForeignKeyConstraint(
            ["treatment_id"],
            ["treatments.id"],
            name=op.f("fk_treatment_benches_treatment_id_treatments"),
        ),
        sa.PrimaryKeyConstraint("treatment_id", "bench_id", name=op.f("pk_treatment_benches")),
    )
    op.create_index(
        op.f("ix_treatment_benches_bench_id"), "treatment_benches", ["bench_id"], unique=False
    )
    op.create_table(
        "treatment_batches",
        sa.Column("treatment_id", sa.Integer(), nullable=False),
        sa.Column("batch_id", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(
            ["batch_id"], ["batches.id"], name=op.f("fk_treatment_batches_batch_id_batches")
        ),
        sa.ForeignKeyConstraint(
            ["treatment_id"],
            ["treatments.id"],
            name=op.f("fk_treatment_batches_treatment_id_treatments"),
        ),
        sa.PrimaryKeyConstraint("treatment_id", "batch_id", name=op.f("pk_treatment_batches")),
    )
    op.create_index(
        op.f("ix_treatment_batches_batch_id"), "treatment_batches", ["batch_id"], unique=False
    )
    op.create_table(
        "treatment_stock_plants",
        sa.Column("treatment_id", sa.Integer(), nullable=False),
        sa.Column("stock_plant_id", sa.Integer(), nullable=False),
        sa.Column("chosen", sa.Integer(), nullable=False),
        sa.Column("counts", sa.Integer(), nullable=False),
        sa.CheckConstraint("chosen IN (0, 1)", name=op.f("ck_treatment_stock_plants_chosen_flag")),
        sa.CheckConstraint("counts IN (0, 1)", name=op.f("ck_treatment_stock_plants_counts_flag")),
        sa.ForeignKeyConstraint(
            ["stock_plant_id"],
            ["stock_plants.id"],
            name=op.f("fk_treatment_stock_plants_stock_plant_id_stock_plants"),
        ),
        sa.ForeignKeyConstraint(
            ["treatment_id"],
            ["treatments.id"],
            name=op.f("fk_treatment_stock_plants_treatment_id_treatments"),
        ),
        sa.PrimaryKeyConstraint(
            "treatment_id", "stock_plant_id", name=op.f("pk_treatment_stock_plants")
        ),
    )
    op.create_index(
        op.f("ix_treatment_stock_plants_stock_plant_id"),
        "treatment_stock_plants",
        ["stock_plant_id"],
        unique=False,
    )
    op.create_table(
        "stock_plant_reentries",
        sa.Column("stock_plant_id", sa.Integer(), nullable=False),
        sa.Column("own_at", sa.DateTime(), nullable=True),
        sa.Column("set_at", sa.DateTime(), nullable=True),
        sa.ForeignKeyConstraint(
            ["stock_plant_id"],
            ["stock_plants.id"],
            name=op.f("fk_stock_plant_reentries_stock_plant_id_stock_plants"),
        ),
        sa.PrimaryKeyConstraint("stock_plant_id", name=op.f("pk_stock_plant_reentries")),
    )


def downgrade() -> None:
    op.drop_table("stock_plant_reentries")
    op.drop_index(
        op.f("ix_treatment_stock_plants_stock_plant_id"), table_name="treatment_stock_plants"
    )
    op.drop_table("treatment_stock_plants")
    op.drop_index(op.f("ix_treatment_batches_batch_id"), table_name="treatment_batches")
    op.drop_table("treatment_batches")
    op.drop_index(op.f("ix_treatment_benches_bench_id"), table_name="treatment_benches")
    op.drop_table("treatment_benches")
    op.drop_index("ix_treatments_begun_on", table_name="treatments")
    op.drop_index("ix_treatments_reentry_at", table_name="treatments")
    op.drop_table("treatments")
