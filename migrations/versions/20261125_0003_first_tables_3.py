"""First tables, part 3 of 4.

Batch facts, check plans, checks, liner lots, outlooks, stock plants, batch sources.
"""

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "batch_facts",
        sa.Column("batch_id", sa.Integer(), nullable=False),
        sa.Column("genus_id", sa.Integer(), nullable=False),
        sa.Column("plant_name_id", sa.Integer(), nullable=False),
        sa.Column("cutting_type", sa.String(), nullable=False),
        sa.Column("hormone_id", sa.Integer(), nullable=True),
        sa.Column("mix_id", sa.Integer(), nullable=True),
        sa.Column("stuck_on", sa.Date(), nullable=False),
        sa.Column("year_stuck", sa.Integer(), nullable=False),
        sa.Column("month_stuck", sa.Integer(), nullable=False),
        sa.Column("stuck", sa.Integer(), nullable=False),
        sa.Column("rooted", sa.Integer(), nullable=False),
        sa.Column("lost", sa.Integer(), nullable=False),
        sa.Column("dumped", sa.Integer(), nullable=False),
        sa.Column("cleared_unrooted", sa.Integer(), nullable=False),
        sa.Column("unrooted", sa.Integer(), nullable=False),
        sa.Column("open", sa.Integer(), nullable=False),
        sa.Column("voided", sa.Integer(), nullable=False),
        sa.Column("last_looked_on", sa.Date(), nullable=True),
        sa.Column("counted_on", sa.Date(), nullable=True),
        sa.Column("next_look_on", sa.Date(), nullable=True),
        sa.Column("next_count_on", sa.Date(), nullable=True),
        sa.Column("due_on", sa.Date(), nullable=True),
        sa.Column("late_on", sa.Date(), nullable=True),
        sa.CheckConstraint("month_stuck BETWEEN 1 AND 12", name=op.f("ck_batch_facts_month_range")),
        sa.CheckConstraint("open IN (0, 1)", name=op.f("ck_batch_facts_open_flag")),
        sa.CheckConstraint(
            "rooted + lost + dumped + cleared_unrooted + unrooted = stuck",
            name=op.f("ck_batch_facts_counts_add_up"),
        ),
        sa.CheckConstraint(
            "rooted >= 0 AND lost >= 0 AND dumped >= 0 AND cleared_unrooted >= 0 AND unrooted >= 0",
            name=op.f("ck_batch_facts_counts_not_negative"),
        ),
        sa.CheckConstraint("voided IN (0, 1)", name=op.f("ck_batch_facts_voided_flag")),
        sa.ForeignKeyConstraint(
            ["batch_id"], ["batches.id"], name=op.f("fk_batch_facts_batch_id_batches")
        ),
        sa.ForeignKeyConstraint(
            ["genus_id"], ["genera.id"], name=op.f("fk_batch_facts_genus_id_genera")
        ),
        sa.ForeignKeyConstraint(
            ["hormone_id"], ["hormones.id"], name=op.f("fk_batch_facts_hormone_id_hormones")
        ),
        sa.ForeignKeyConstraint(["mix_id"], ["mixes.id"], name=op.f("fk_batch_facts_mix_id_mixes")),
        sa.ForeignKeyConstraint(
            ["plant_name_id"],
            ["plant_names.id"],
            name=op.f("fk_batch_facts_plant_name_id_plant_names"),
        ),
        sa.PrimaryKeyConstraint("batch_id", name=op.f("pk_batch_facts")),
    )
    op.create_index(
        "ix_batch_facts_due",
        "batch_facts",
        ["due_on", "batch_id"],
        unique=False,
        sqlite_where=sa.text("open = 1"),
        postgresql_where=sa.text("open"),
    )
    op.create_index("ix_batch_facts_plant_name_id", "batch_facts", ["plant_name_id"], unique=False)
    op.create_index(
        "ix_batch_facts_rates",
        "batch_facts",
        [
            "genus_id",
            "cutting_type",
            "hormone_id",
            "month_stuck",
            "year_stuck",
            "stuck_on",
            "voided",
            "stuck",
            "rooted",
            "lost",
            "dumped",
            "cleared_unrooted",
            "unrooted",
            "counted_on",
        ],
        unique=False,
    )
    op.create_index(
        "ix_batch_facts_stuck_on", "batch_facts", ["stuck_on", "batch_id"], unique=False
    )
    op.create_table(
        "check_plans",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("level", sa.String(), nullable=False),
        sa.Column("genus_id", sa.Integer(), nullable=True),
        sa.Column("cutting_type", sa.String(), nullable=False),
        sa.Column("batch_id", sa.Integer(), nullable=True),
        sa.Column("look_every_days", sa.Integer(), nullable=True),
        sa.Column("first_count_day", sa.Integer(), nullable=True),
        sa.Column("count_every_days", sa.Integer(), nullable=True),
        sa.Column("looks_only", sa.Boolean(), nullable=True),
        sa.Column("learned", sa.Boolean(), nullable=True),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.CheckConstraint(
            "(level = 'genus') = (genus_id IS NOT NULL) AND (level = 'batch') = (batch_id IS NOT NULL)",
            name=op.f("ck_check_plans_level_has_its_record"),
        ),
        sa.CheckConstraint(
            "level IN ('nursery', 'genus', 'batch')", name=op.f("ck_check_plans_known_level")
        ),
        sa.CheckConstraint(
            "count_every_days IS NULL OR count_every_days > 0",
            name=op.f("ck_check_plans_count_positive"),
        ),
        sa.CheckConstraint(
            "first_count_day IS NULL OR first_count_day > 0",
            name=op.f("ck_check_plans_first_positive"),
        ),
        sa.CheckConstraint(
            "look_every_days IS NULL OR look_every_days > 0",
            name=op.f("ck_check_plans_look_positive"),
        ),
        sa.ForeignKeyConstraint(
            ["batch_id"], ["batches.id"], name=op.f("fk_check_plans_batch_id_batches")
        ),
        sa.ForeignKeyConstraint(
            ["genus_id"], ["genera.id"], name=op.f("fk_check_plans_genus_id_genera")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_check_plans")),
    )
    op.create_index("uq_check_plans_batch", "check_plans", ["batch_id"], unique=True)
    op.create_index(
        "uq_check_plans_genus", "check_plans", ["genus_id", "cutting_type"], unique=True
    )
    op.create_index(
        "uq_check_plans_nursery",
        "check_plans",
        ["level"],
        unique=True,
        sqlite_where=sa.text("level = 'nursery'"),
        postgresql_where=sa.text("level = 'nursery'"),
    )
    op.create_table(
        "checks",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("batch_id", sa.Integer(), nullable=False),
        sa.Column("checked_on", sa.Date(), nullable=False),
        sa.Column("running", sa.Integer(), nullable=False),
        sa.Column("kind", sa.String(), nullable=False),
        sa.Column("rooted", sa.Integer(), nullable=False),
        sa.Column("callused", sa.Integer(), nullable=True),
        sa.Column("lost", sa.Integer(), nullable=False),
        sa.Column("ending", sa.String(), nullable=False),
        sa.Column("ended", sa.Integer(), nullable=False),
        sa.Column("withdrawn", sa.Integer(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.CheckConstraint("ended = 0 OR ending <> ''", name=op.f("ck_checks_ended_has_kind")),
        sa.CheckConstraint(
            "ending IN ('', 'dumped', 'cleared unrooted')", name=op.f("ck_checks_known_ending")
        ),
        sa.CheckConstraint(
            "kind = 'counted' OR rooted + lost + ended = 0",
            name=op.f("ck_checks_only_counts_count"),
        ),
        sa.CheckConstraint(
            "kind IN ('counted', 'sample', 'looked only')", name=op.f("ck_checks_known_kind")
        ),
        sa.CheckConstraint(
            "rooted >= 0 AND lost >= 0 AND ended >= 0", name=op.f("ck_checks_counts_not_negative")
        ),
        sa.CheckConstraint("withdrawn IN (0, 1)", name=op.f("ck_checks_withdrawn_flag")),
        sa.ForeignKeyConstraint(
            ["batch_id"], ["batches.id"], name=op.f("fk_checks_batch_id_batches")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_checks")),
        sa.UniqueConstraint(
            "batch_id", "checked_on", "running", name=op.f("uq_checks_batch_id_checked_on_running")
        ),
    )
    op.create_table(
        "liner_lots",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("batch_id", sa.Integer(), nullable=False),
        sa.Column("began_on", sa.Date(), nullable=False),
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("container_id", sa.Integer(), nullable=True),
        sa.Column("mix_lot_id", sa.Integer(), nullable=True),
        sa.Column("notes", sa.String(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.CheckConstraint("number > 0", name=op.f("ck_liner_lots_number_positive")),
        sa.ForeignKeyConstraint(
            ["batch_id"], ["batches.id"], name=op.f("fk_liner_lots_batch_id_batches")
        ),
        sa.ForeignKeyConstraint(
            ["container_id"], ["containers.id"], name=op.f("fk_liner_lots_container_id_containers")
        ),
        sa.ForeignKeyConstraint(
            ["mix_lot_id"], ["mix_lots.id"], name=op.f("fk_liner_lots_mix_lot_id_mix_lots")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_liner_lots")),
    )
    op.create_index(op.f("ix_liner_lots_batch_id"), "liner_lots", ["batch_id"], unique=False)
    op.create_table(
        "outlooks",
        sa.Column("batch_id", sa.Integer(), nullable=False),
        sa.Column("from_on", sa.Date(), nullable=False),
        sa.Column("new_by", sa.JSON(), nullable=False),
        sa.Column("ever", sa.Double(), nullable=False),
        sa.Column("finish", sa.Integer(), nullable=False),
        sa.Column("leans_on", sa.Integer(), nullable=False),
        sa.CheckConstraint("finish IN (0, 1)", name=op.f("ck_outlooks_finish_flag")),
        sa.ForeignKeyConstraint(
            ["batch_id"], ["batches.id"], name=op.f("fk_outlooks_batch_id_batches")
        ),
        sa.PrimaryKeyConstraint("batch_id", name=op.f("pk_outlooks")),
    )
    op.create_table(
        "stock_plants",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("code", sa.String(), nullable=False),
        sa.Column("plant_name_id", sa.Integer(), nullable=False),
        sa.Column("plants", sa.Integer(), nullable=False),
        sa.Column("bench_id", sa.Integer(), nullable=True),
        sa.Column("state", sa.String(), nullable=False),
        sa.Column("state_reason", sa.String(), nullable=False),
        sa.Column("origin", sa.String(), nullable=False),
        sa.Column("raised_from_id", sa.Integer(), nullable=True),
        sa.Column("supplier", sa.String(), nullable=False),
        sa.Column("supplier_reference", sa.String(), nullable=False),
        sa.Column("came_on", sa.Date(), nullable=True),
        sa.Column("rest_weeks", sa.Integer(), nullable=True),
        sa.Column("expected_per_plant", sa.Double(), nullable=True),
        sa.Column("cut_back_on", sa.Date(), nullable=True),
        sa.Column("renew_by", sa.Date(), nullable=True),
        sa.Column("tested_until", sa.Date(), nullable=True),
        sa.Column("true_to_type_on", sa.Date(), nullable=True),
        sa.Column("flowering", sa.Boolean(), nullable=True),
        sa.Column("reentry_at", sa.DateTime(), nullable=True),
        sa.Column("discarded_on", sa.Date(), nullable=True),
        sa.Column("notes", sa.String(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.CheckConstraint(
            "origin IN ('', 'bought in', 'raised here', 'given', 'collected')",
            name=op.f("ck_stock_plants_known_origin"),
        ),
        sa.CheckConstraint(
            "state IN ('fit to cut', 'resting', 'watched', 'on hold', 'discarded')",
            name=op.f("ck_stock_plants_known_state"),
        ),
        sa.CheckConstraint("plants >= 0", name=op.f("ck_stock_plants_plants_not_negative")),
        sa.ForeignKeyConstraint(
            ["bench_id"], ["benches.id"], name=op.f("fk_stock_plants_bench_id_benches")
        ),
        sa.ForeignKeyConstraint(
            ["plant_name_id"],
            ["plant_names.id"],
            name=op.f("fk_stock_plants_plant_name_id_plant_names"),
        ),
        sa.ForeignKeyConstraint(
            ["raised_from_id"], ["batches.id"], name=op.f("fk_stock_plants_raised_from_id_batches")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_stock_plants")),
        sa.UniqueConstraint("code", name=op.f("uq_stock_plants_code")),
        sa.UniqueConstraint("number", name=op.f("uq_stock_plants_number")),
    )
    op.create_index(
        op.f("ix_stock_plants_plant_name_id"), "stock_plants", ["plant_name_id"], unique=False
    )
    op.create_table(
        "batch_sources",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("batch_id", sa.Integer(), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("kind", sa.String(), nullable=False),
        sa.Column("stock_plant_id", sa.Integer(), nullable=True),
        sa.Column("supplier", sa.String(), nullable=False),
        sa.Column("lot", sa.String(), nullable=False),
        sa.Column("passport", sa.String(), nullable=False),
        sa.Column("condition", sa.String(), nullable=False),
        sa.Column("number", sa.Integer(), nullable=True),
        sa.CheckConstraint(
            "(kind = 'stock plant') = (stock_plant_id IS NOT NULL)",
            name=op.f("ck_batch_sources_stock_plant_named"),
        ),
        sa.CheckConstraint(
            "kind IN ('stock plant', 'bought in', 'collected')",
            name=op.f("ck_batch_sources_known_kind"),
        ),
        sa.CheckConstraint(
            "number IS NULL OR number > 0", name=op.f("ck_batch_sources_number_positive")
        ),
        sa.ForeignKeyConstraint(
            ["batch_id"], ["batches.id"], name=op.f("fk_batch_sources_batch_id_batches")
        ),
        sa.ForeignKeyConstraint(
            ["stock_plant_id"],
            ["stock_plants.id"],
            name=op.f("fk_batch_sources_stock_plant_id_stock_plants"),
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_batch_sources")),
        sa.UniqueConstraint(
            "batch_id", "position", name=op.f("uq_batch_sources_batch_id_position")
        ),
    )
    op.create_index(
        op.f("ix_batch_sources_stock_plant_id"), "batch_sources", ["stock_plant_id"], unique=False
    )


def downgrade() -> None:
    op.drop_index(op.f("ix_batch_sources_stock_plant_id"), table_name="batch_sources")
    op.drop_table("batch_sources")
    op.drop_index(op.f("ix_stock_plants_plant_name_id"), table_name="stock_plants")
    op.drop_table("stock_plants")
    op.drop_table("outlooks")
    op.drop_index(op.f("ix_liner_lots_batch_id"), table_name="liner_lots")
    op.drop_table("liner_lots")
    op.drop_table("checks")
    op.drop_index(
        "uq_check_plans_nursery",
        table_name="check_plans",
        sqlite_where=sa.text("level = 'nursery'"),
        postgresql_where=sa.text("level = 'nursery'"),
    )
    op.drop_index("uq_check_plans_genus", table_name="check_plans")
    op.drop_index("uq_check_plans_batch", table_name="check_plans")
    op.drop_table("check_plans")
    op.drop_index("ix_batch_facts_stuck_on", table_name="batch_facts")
    op.drop_index("ix_batch_facts_rates", table_name="batch_facts")
    op.drop_index("ix_batch_facts_plant_name_id", table_name="batch_facts")
    op.drop_index(
        "ix_batch_facts_due",
        table_name="batch_facts",
        sqlite_where=sa.text("open = 1"),
        postgresql_where=sa.text("open"),
    )
    op.drop_table("batch_facts")
