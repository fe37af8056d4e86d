"""First tables, part 2 of 4.

Posted forms, import stage lines, method card versions, mix lots, mix parts, one time codes,
sessions, batches.
"""

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "posted_forms",
        sa.Column("key", sa.String(), nullable=False),
        sa.Column("person_id", sa.Integer(), nullable=True),
        sa.Column("route", sa.String(), nullable=False),
        sa.Column("body_hash", sa.String(), nullable=False),
        sa.Column("result", sa.String(), nullable=False),
        sa.Column("posted_at", sa.DateTime(), nullable=False),
        sa.ForeignKeyConstraint(
            ["person_id"], ["people.id"], name=op.f("fk_posted_forms_person_id_people")
        ),
        sa.PrimaryKeyConstraint("key", name=op.f("pk_posted_forms")),
    )
    op.create_index(op.f("ix_posted_forms_posted_at"), "posted_forms", ["posted_at"], unique=False)
    op.create_table(
        "import_stage_lines",
        sa.Column("import_stage_id", sa.Integer(), nullable=False),
        sa.Column("line", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("state", sa.String(), nullable=False),
        sa.Column("payload", sa.JSON(), nullable=False),
        sa.Column("problems", sa.JSON(), nullable=False),
        sa.CheckConstraint(
            "state IN ('new', 'changed', 'the same', 'wrong')",
            name=op.f("ck_import_stage_lines_known_state"),
        ),
        sa.ForeignKeyConstraint(
            ["import_stage_id"],
            ["import_stages.id"],
            name=op.f("fk_import_stage_lines_import_stage_id_import_stages"),
        ),
        sa.PrimaryKeyConstraint("import_stage_id", "line", name=op.f("pk_import_stage_lines")),
    )
    op.create_index(
        "ix_import_stage_lines_state",
        "import_stage_lines",
        ["import_stage_id", "state", "line"],
        unique=False,
    )
    op.create_table(
        "method_card_versions",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("method_card_id", sa.Integer(), nullable=False),
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("made_at", sa.DateTime(), nullable=False),
        sa.Column("made_by_id", sa.Integer(), nullable=True),
        sa.Column("months", sa.String(), nullable=False),
        sa.Column("cut", sa.String(), nullable=False),
        sa.Column("section", sa.String(), nullable=False),
        sa.Column("length_cm_low", sa.Double(), nullable=True),
        sa.Column("length_cm_high", sa.Double(), nullable=True),
        sa.Column("leaves_low", sa.Integer(), nullable=True),
        sa.Column("leaves_high", sa.Integer(), nullable=True),
        sa.Column("hormone_substance", sa.String(), nullable=False),
        sa.Column("hormone_form", sa.String(), nullable=False),
        sa.Column("hormone_ppm_low", sa.Integer(), nullable=True),
        sa.Column("hormone_ppm_high", sa.Integer(), nullable=True),
        sa.Column("weeks_low", sa.Double(), nullable=True),
        sa.Column("weeks_high", sa.Double(), nullable=True),
        sa.Column("cover", sa.String(), nullable=False),
        sa.Column("bottom_heat_c_low", sa.Double(), nullable=True),
        sa.Column("bottom_heat_c_high", sa.Double(), nullable=True),
        sa.Column("mix", sa.String(), nullable=False),
        sa.Column("container", sa.String(), nullable=False),
        sa.Column("notes", sa.String(), nullable=False),
        sa.Column("standings", sa.JSON(), nullable=False),
        sa.ForeignKeyConstraint(
            ["made_by_id"], ["people.id"], name=op.f("fk_method_card_versions_made_by_id_people")
        ),
        sa.ForeignKeyConstraint(
            ["method_card_id"],
            ["method_cards.id"],
            name=op.f("fk_method_card_versions_method_card_id_method_cards"),
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_method_card_versions")),
        sa.UniqueConstraint(
            "method_card_id", "number", name=op.f("uq_method_card_versions_method_card_id_number")
        ),
    )
    op.create_table(
        "mix_lots",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("code", sa.String(), nullable=False),
        sa.Column("mix_version_id", sa.Integer(), nullable=False),
        sa.Column("made_on", sa.Date(), nullable=False),
        sa.Column("made_by_id", sa.Integer(), nullable=True),
        sa.Column("litres", sa.Double(), nullable=True),
        sa.Column("notes", sa.String(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.CheckConstraint(
            "litres IS NULL OR litres > 0", name=op.f("ck_mix_lots_litres_positive")
        ),
        sa.ForeignKeyConstraint(
            ["made_by_id"], ["people.id"], name=op.f("fk_mix_lots_made_by_id_people")
        ),
        sa.ForeignKeyConstraint(
            ["mix_version_id"],
            ["mix_versions.id"],
            name=op.f("fk_mix_lots_mix_version_id_mix_versions"),
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_mix_lots")),
        sa.UniqueConstraint("code", name=op.f("uq_mix_lots_code")),
        sa.UniqueConstraint("number", name=op.f("uq_mix_lots_number")),
    )
    op.create_table(
        "mix_parts",
        sa.Column("mix_version_id", sa.Integer(), nullable=False),
        sa.Column("ingredient_id", sa.Integer(), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("parts", sa.Double(), nullable=False),
        sa.CheckConstraint("parts > 0", name=op.f("ck_mix_parts_parts_positive")),
        sa.ForeignKeyConstraint(
            ["ingredient_id"],
            ["ingredients.id"],
            name=op.f("fk_mix_parts_ingredient_id_ingredients"),
        ),
        sa.ForeignKeyConstraint(
            ["mix_version_id"],
            ["mix_versions.id"],
            name=op.f("fk_mix_parts_mix_version_id_mix_versions"),
        ),
        sa.PrimaryKeyConstraint("mix_version_id", "ingredient_id", name=op.f("pk_mix_parts")),
    )
    op.create_table(
        "one_time_codes",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("code_hash", sa.String(), nullable=False),
        sa.Column("account_id", sa.Integer(), nullable=True),
        sa.Column("made_at", sa.DateTime(), nullable=False),
        sa.Column("expires_at", sa.DateTime(), nullable=False),
        sa.Column("used_at", sa.DateTime(), nullable=True),
        sa.ForeignKeyConstraint(
            ["account_id"], ["accounts.id"], name=op.f("fk_one_time_codes_account_id_accounts")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_one_time_codes")),
        sa.UniqueConstraint("code_hash", name=op.f("uq_one_time_codes_code_hash")),
    )
    op.create_table(
        "sessions",
        sa.Column("token_hash", sa.String(), nullable=False),
        sa.Column("account_id", sa.Integer(), nullable=False),
        sa.Column("began_at", sa.DateTime(), nullable=False),
        sa.Column("seen_at", sa.DateTime(), nullable=False),
        sa.Column("ended_at", sa.DateTime(), nullable=True),
        sa.Column("ended_why", sa.String(), nullable=False),
        sa.ForeignKeyConstraint(
            ["account_id"], ["accounts.id"], name=op.f("fk_sessions_account_id_accounts")
        ),
        sa.PrimaryKeyConstraint("token_hash", name=op.f("pk_sessions")),
    )
    op.create_index(op.f("ix_sessions_account_id"), "sessions", ["account_id"], unique=False)
    op.create_table(
        "batches",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("year", sa.Integer(), nullable=False),
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("code", sa.String(), nullable=False),
        sa.Column("plant_name_id", sa.Integer(), nullable=False),
        sa.Column("own_reference", sa.String(), nullable=False),
        sa.Column("reference_source", sa.String(), nullable=False),
        sa.Column("taken_on", sa.Date(), nullable=True),
        sa.Column("taken", sa.Integer(), nullable=True),
        sa.Column("thrown_out", sa.Integer(), nullable=True),
        sa.Column("stored_hours", sa.Double(), nullable=True),
        sa.Column("stored_c", sa.Double(), nullable=True),
        sa.Column("stored_how", sa.String(), nullable=False),
        sa.Column("stuck_on", sa.Date(), nullable=False),
        sa.Column("stuck", sa.Integer(), nullable=False),
        sa.Column("trays", sa.Integer(), nullable=True),
        sa.Column("per_tray", sa.Integer(), nullable=True),
        sa.Column("gaps", sa.Integer(), nullable=True),
        sa.Column("gathered_by_id", sa.Integer(), nullable=True),
        sa.Column("made_by_id", sa.Integer(), nullable=True),
        sa.Column("stuck_by_id", sa.Integer(), nullable=True),
        sa.Column("hours", sa.Double(), nullable=True),
        sa.Column("cutting_type", sa.String(), nullable=False),
        sa.Column("cut", sa.String(), nullable=False),
        sa.Column("section", sa.String(), nullable=False),
        sa.Column("growth_stage", sa.String(), nullable=False),
        sa.Column("length_cm", sa.Double(), nullable=True),
        sa.Column("leaves_left", sa.Integer(), nullable=True),
        sa.Column("leaves_halved", sa.Boolean(), nullable=True),
        sa.Column("wounded", sa.Boolean(), nullable=True),
        sa.Column("buds_removed", sa.Boolean(), nullable=True),
        sa.Column("flowering", sa.Boolean(), nullable=True),
        sa.Column("hormone_id", sa.Integer(), nullable=True),
        sa.Column("dip_s", sa.Double(), nullable=True),
        sa.Column("mix_version_id", sa.Integer(), nullable=True),
        sa.Column("mix_lot_id", sa.Integer(), nullable=True),
        sa.Column("container_id", sa.Integer(), nullable=True),
        sa.Column("per_place", sa.Integer(), nullable=True),
        sa.Column("placed", sa.String(), nullable=False),
        sa.Column("cover", sa.String(), nullable=False),
        sa.Column("bottom_heat_c", sa.Double(), nullable=True),
        sa.Column("shade", sa.String(), nullable=False),
        sa.Column("bench_id", sa.Integer(), nullable=True),
        sa.Column("method_card_version_id", sa.Integer(), nullable=True),
        sa.Column("taken_over", sa.JSON(), nullable=False),
        sa.Column("restuck_from_id", sa.Integer(), nullable=True),
        sa.Column("trial_block", sa.String(), nullable=False),
        sa.Column("ending_kind", sa.String(), nullable=False),
        sa.Column("ending_cause", sa.String(), nullable=False),
        sa.Column("ended_on", sa.Date(), nullable=True),
        sa.Column("voided_at", sa.DateTime(), nullable=True),
        sa.Column("voided_by_id", sa.Integer(), nullable=True),
        sa.Column("void_reason", sa.String(), nullable=False),
        sa.Column("made_at", sa.DateTime(), nullable=False),
        sa.Column("recorded_by_id", sa.Integer(), nullable=True),
        sa.Column("notes", sa.String(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.CheckConstraint("stuck > 0", name=op.f("ck_batches_stuck_positive")),
        sa.CheckConstraint(
            "taken IS NULL OR taken >= 0", name=op.f("ck_batches_taken_not_negative")
        ),
        sa.CheckConstraint(
            "taken_on IS NULL OR taken_on <= stuck_on", name=op.f("ck_batches_taken_before_stuck")
        ),
        sa.CheckConstraint(
            "thrown_out IS NULL OR thrown_out >= 0", name=op.f("ck_batches_thrown_out_not_negative")
        ),
        sa.ForeignKeyConstraint(
            ["bench_id"], ["benches.id"], name=op.f("fk_batches_bench_id_benches")
        ),
        sa.ForeignKeyConstraint(
            ["container_id"], ["containers.id"], name=op.f("fk_batches_container_id_containers")
        ),
        sa.ForeignKeyConstraint(
            ["gathered_by_id"], ["people.id"], name=op.f("fk_batches_gathered_by_id_people")
        ),
        sa.ForeignKeyConstraint(
            ["hormone_id"], ["hormones.id"], name=op.f("fk_batches_hormone_id_hormones")
        ),
        sa.ForeignKeyConstraint(
            ["made_by_id"], ["people.id"], name=op.f("fk_batches_made_by_id_people")
        ),
        sa.ForeignKeyConstraint(
            ["method_card_version_id"],
            ["method_card_versions.id"],
            name=op.f("fk_batches_method_card_version_id_method_card_versions"),
        ),
        sa.ForeignKeyConstraint(
            ["mix_lot_id"], ["mix_lots.id"], name=op.f("fk_batches_mix_lot_id_mix_lots")
        ),
        sa.ForeignKeyConstraint(
            ["mix_version_id"],
            ["mix_versions.id"],
            name=op.f("fk_batches_mix_version_id_mix_versions"),
        ),
        sa.ForeignKeyConstraint(
            ["plant_name_id"], ["plant_names.id"], name=op.f("fk_batches_plant_name_id_plant_names")
        ),
        sa.ForeignKeyConstraint(
            ["recorded_by_id"], ["people.id"], name=op.f("fk_batches_recorded_by_id_people")
        ),
        sa.ForeignKeyConstraint(
            ["restuck_from_id"], ["batches.id"], name=op.f("fk_batches_restuck_from_id_batches")
        ),
        sa.ForeignKeyConstraint(
            ["stuck_by_id"], ["people.id"], name=op.f("fk_batches_stuck_by_id_people")
        ),
        sa.ForeignKeyConstraint(
            ["voided_by_id"], ["people.id"], name=op.f("fk_batches_voided_by_id_people")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_batches")),
        sa.UniqueConstraint("code", name=op.f("uq_batches_code")),
        sa.UniqueConstraint("year", "number", name=op.f("uq_batches_year_number")),
    )
    op.create_index(op.f("ix_batches_bench_id"), "batches", ["bench_id"], unique=False)
    op.create_index(op.f("ix_batches_mix_version_id"), "batches", ["mix_version_id"], unique=False)
    op.create_index(
        "ix_batches_own_reference", "batches", ["reference_source", "own_reference"], unique=False
    )
    op.create_index("ix_batches_plant_name_id", "batches", ["plant_name_id"], unique=False)
    op.create_index("ix_batches_restuck_from_id", "batches", ["restuck_from_id"], unique=False)
    op.create_index("ix_batches_stuck_by_id", "batches", ["stuck_by_id"], unique=False)


def downgrade() -> None:
    op.drop_index("ix_batches_stuck_by_id", table_name="batches")
    op.drop_index("ix_batches_restuck_from_id", table_name="batches")
    op.drop_index("ix_batches_plant_name_id", table_name="batches")
    op.drop_index("ix_batches_own_reference", table_name="batches")
    op.drop_index(op.f("ix_batches_mix_version_id"), table_name="batches")
    op.drop_index(op.f("ix_batches_bench_id"), table_name="batches")
    op.drop_table("batches")
    op.drop_index(op.f("ix_sessions_account_id"), table_name="sessions")
    op.drop_table("sessions")
    op.drop_table("one_time_codes")
    op.drop_table("mix_parts")
    op.drop_table("mix_lots")
    op.drop_table("method_card_versions")
    op.drop_index("ix_import_stage_lines_state", table_name="import_stage_lines")
    op.drop_table("import_stage_lines")
    op.drop_index(op.f("ix_posted_forms_posted_at"), table_name="posted_forms")
    op.drop_table("posted_forms")
