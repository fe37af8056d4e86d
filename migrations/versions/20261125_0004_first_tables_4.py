"""First tables, part 4 of 4: bench stays, check versions, liner stages, check losses."""

import sqlalchemy as sa
from alembic import op

revision = "0004"
down_revision = "0003"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "bench_stays",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("batch_id", sa.Integer(), nullable=True),
        sa.Column("stock_plant_id", sa.Integer(), nullable=True),
        sa.Column("bench_id", sa.Integer(), nullable=False),
        sa.Column("trays", sa.Integer(), nullable=True),
        sa.Column("from_on", sa.Date(), nullable=False),
        sa.Column("to_on", sa.Date(), nullable=True),
        sa.CheckConstraint(
            "(batch_id IS NULL) <> (stock_plant_id IS NULL)", name=op.f("ck_bench_stays_one_thing")
        ),
        sa.CheckConstraint(
            "to_on IS NULL OR to_on >= from_on", name=op.f("ck_bench_stays_in_order")
        ),
        sa.CheckConstraint(
            "trays IS NULL OR trays > 0", name=op.f("ck_bench_stays_trays_positive")
        ),
        sa.ForeignKeyConstraint(
            ["batch_id"], ["batches.id"], name=op.f("fk_bench_stays_batch_id_batches")
        ),
        sa.ForeignKeyConstraint(
            ["bench_id"], ["benches.id"], name=op.f("fk_bench_stays_bench_id_benches")
        ),
        sa.ForeignKeyConstraint(
            ["stock_plant_id"],
            ["stock_plants.id"],
            name=op.f("fk_bench_stays_stock_plant_id_stock_plants"),
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_bench_stays")),
    )
    op.create_index("ix_bench_stays_batch_id", "bench_stays", ["batch_id"], unique=False)
    op.create_index(
        "ix_bench_stays_batch_now",
        "bench_stays",
        ["batch_id"],
        unique=False,
        sqlite_where=sa.text("to_on IS NULL"),
        postgresql_where=sa.text("to_on IS NULL"),
    )
    op.create_index(
        "ix_bench_stays_bench_now",
        "bench_stays",
        ["bench_id"],
        unique=False,
        sqlite_where=sa.text("to_on IS NULL"),
        postgresql_where=sa.text("to_on IS NULL"),
    )
    op.create_index(
        "ix_bench_stays_stock_plant_id", "bench_stays", ["stock_plant_id"], unique=False
    )
    op.create_table(
        "check_versions",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("check_id", sa.Integer(), nullable=False),
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("checked_on", sa.Date(), nullable=False),
        sa.Column("recorded_at", sa.DateTime(), nullable=False),
        sa.Column("recorded_by_id", sa.Integer(), nullable=True),
        sa.Column("checked_by_id", sa.Integer(), nullable=True),
        sa.Column("reason", sa.String(), nullable=False),
        sa.Column("withdrawn", sa.Integer(), nullable=False),
        sa.Column("kind", sa.String(), nullable=False),
        sa.Column("rooted", sa.Integer(), nullable=False),
        sa.Column("typed_as", sa.String(), nullable=False),
        sa.Column("callused", sa.Integer(), nullable=True),
        sa.Column("restuck_into_id", sa.Integer(), nullable=True),
        sa.Column("lost", sa.Integer(), nullable=False),
        sa.Column("unrooted_counted", sa.Integer(), nullable=True),
        sa.Column("ending", sa.String(), nullable=False),
        sa.Column("ended", sa.Integer(), nullable=False),
        sa.Column("sample_of", sa.Integer(), nullable=True),
        sa.Column("sample_rooted", sa.Integer(), nullable=True),
        sa.Column("rooted_means", sa.String(), nullable=False),
        sa.Column("medium_c", sa.Double(), nullable=True),
        sa.Column("humidity_percent", sa.Double(), nullable=True),
        sa.Column("walk_key", sa.String(), nullable=False),
        sa.Column("note", sa.String(), nullable=False),
        sa.CheckConstraint(
            "ending IN ('', 'dumped', 'cleared unrooted')",
            name=op.f("ck_check_versions_known_ending"),
        ),
        sa.CheckConstraint(
            "kind IN ('counted', 'sample', 'looked only')",
            name=op.f("ck_check_versions_known_kind"),
        ),
        sa.CheckConstraint(
            "number = 1 OR reason <> ''", name=op.f("ck_check_versions_correction_has_reason")
        ),
        sa.CheckConstraint(
            "rooted >= 0 AND lost >= 0 AND ended >= 0",
            name=op.f("ck_check_versions_counts_not_negative"),
        ),
        sa.CheckConstraint(
            "sample_of IS NULL OR (sample_rooted >= 0 AND sample_rooted <= sample_of)",
            name=op.f("ck_check_versions_sample_range"),
        ),
        sa.ForeignKeyConstraint(
            ["check_id"], ["checks.id"], name=op.f("fk_check_versions_check_id_checks")
        ),
        sa.ForeignKeyConstraint(
            ["checked_by_id"], ["people.id"], name=op.f("fk_check_versions_checked_by_id_people")
        ),
        sa.ForeignKeyConstraint(
            ["recorded_by_id"], ["people.id"], name=op.f("fk_check_versions_recorded_by_id_people")
        ),
        sa.ForeignKeyConstraint(
            ["restuck_into_id"],
            ["batches.id"],
            name=op.f("fk_check_versions_restuck_into_id_batches"),
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_check_versions")),
        sa.UniqueConstraint("check_id", "number", name=op.f("uq_check_versions_check_id_number")),
    )
    op.create_table(
        "liner_stages",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("liner_lot_id", sa.Integer(), nullable=False),
        sa.Column("stage", sa.String(), nullable=False),
        sa.Column("reached_on", sa.Date(), nullable=False),
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("lost", sa.Integer(), nullable=False),
        sa.Column("lost_cause_id", sa.Integer(), nullable=True),
        sa.Column("person_id", sa.Integer(), nullable=True),
        sa.Column("notes", sa.String(), nullable=False),
        sa.CheckConstraint(
            "number >= 0 AND lost >= 0", name=op.f("ck_liner_stages_counts_not_negative")
        ),
        sa.ForeignKeyConstraint(
            ["liner_lot_id"],
            ["liner_lots.id"],
            name=op.f("fk_liner_stages_liner_lot_id_liner_lots"),
        ),
        sa.ForeignKeyConstraint(
            ["lost_cause_id"],
            ["lost_causes.id"],
            name=op.f("fk_liner_stages_lost_cause_id_lost_causes"),
        ),
        sa.ForeignKeyConstraint(
            ["person_id"], ["people.id"], name=op.f("fk_liner_stages_person_id_people")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_liner_stages")),
    )
    op.create_index(
        op.f("ix_liner_stages_liner_lot_id"), "liner_stages", ["liner_lot_id"], unique=False
    )
    op.create_table(
        "check_losses",
        sa.Column("check_version_id", sa.Integer(), nullable=False),
        sa.Column("lost_cause_id", sa.Integer(), nullable=False),
        sa.Column("number", sa.Integer(), nullable=False),
        sa.CheckConstraint("number > 0", name=op.f("ck_check_losses_number_positive")),
        sa.ForeignKeyConstraint(
            ["check_version_id"],
            ["check_versions.id"],
            name=op.f("fk_check_losses_check_version_id_check_versions"),
        ),
        sa.ForeignKeyConstraint(
            ["lost_cause_id"],
            ["lost_causes.id"],
            name=op.f("fk_check_losses_lost_cause_id_lost_causes"),
        ),
        sa.PrimaryKeyConstraint("check_version_id", "lost_cause_id", name=op.f("pk_check_losses")),
    )


def downgrade() -> None:
    op.drop_table("check_losses")
    op.drop_index(op.f("ix_liner_stages_liner_lot_id"), table_name="liner_stages")
    op.drop_table("liner_stages")
    op.drop_table("check_versions")
    op.drop_index("ix_bench_stays_stock_plant_id", table_name="bench_stays")
    op.drop_index(
        "ix_bench_stays_bench_now",
        table_name="bench_stays",
        sqlite_where=sa.text("to_on IS NULL"),
        postgresql_where=sa.text("to_on IS NULL"),
    )
    op.drop_index(
        "ix_bench_stays_batch_now",
        table_name="bench_stays",
        sqlite_where=sa.text("to_on IS NULL"),
        postgresql_where=sa.text("to_on IS NULL"),
    )
    op.drop_index("ix_bench_stays_batch_id", table_name="bench_stays")
    op.drop_table("bench_stays")
