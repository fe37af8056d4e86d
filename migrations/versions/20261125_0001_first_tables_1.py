"""First tables, part 1 of 4.

Benches, containers, fits, genera, history, hormones, ingredients, lost causes, meta, mixes,
people, sign in events, accounts, import stages, method cards, mix versions, plant names.
"""

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "benches",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("walking_order", sa.Integer(), nullable=False),
        sa.Column("capacity_trays", sa.Integer(), nullable=True),
        sa.Column("notes", sa.String(), nullable=False),
        sa.Column("closed_at", sa.DateTime(), nullable=True),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.CheckConstraint("capacity_trays >= 0", name=op.f("ck_benches_capacity_not_negative")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_benches")),
        sa.UniqueConstraint("name", name=op.f("uq_benches_name")),
    )
    op.create_table(
        "containers",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("kind", sa.String(), nullable=False),
        sa.Column("plugs", sa.Integer(), nullable=True),
        sa.Column("volume_ml", sa.Double(), nullable=True),
        sa.Column("retired_at", sa.DateTime(), nullable=True),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.CheckConstraint(
            "kind IN ('tray', 'pot', 'lined out')", name=op.f("ck_containers_known_kind")
        ),
        sa.CheckConstraint("plugs IS NULL OR plugs > 0", name=op.f("ck_containers_plugs_positive")),
        sa.CheckConstraint(
            "volume_ml IS NULL OR volume_ml > 0", name=op.f("ck_containers_volume_positive")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_containers")),
        sa.UniqueConstraint("name", name=op.f("uq_containers_name")),
    )
    op.create_table(
        "fits",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("data_version", sa.Integer(), nullable=False),
        sa.Column("fitted_at", sa.DateTime(), nullable=False),
        sa.Column("payload", sa.LargeBinary(), nullable=False),
        sa.CheckConstraint("id = 1", name=op.f("ck_fits_one_row")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_fits")),
    )
    op.create_table(
        "genera",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("family", sa.String(), nullable=False),
        sa.Column("caution", sa.String(), nullable=False),
        sa.Column("caution_route", sa.String(), nullable=False),
        sa.Column("caution_basis", sa.String(), nullable=False),
        sa.Column("caution_applies_to", sa.String(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_genera")),
        sa.UniqueConstraint("name", name=op.f("uq_genera_name")),
    )
    op.create_table(
        "history",
        sa.Column("sequence", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("at", sa.DateTime(), nullable=False),
        sa.Column("actor_key", sa.String(), nullable=False),
        sa.Column("what", sa.String(), nullable=False),
        sa.Column("subject", sa.String(), nullable=False),
        sa.Column("change", sa.String(), nullable=False),
        sa.Column("previous_hash", sa.String(), nullable=False),
        sa.Column("hash", sa.String(), nullable=False),
        sa.PrimaryKeyConstraint("sequence", name=op.f("pk_history")),
        sa.UniqueConstraint("hash", name=op.f("uq_history_hash")),
    )
    op.create_index("ix_history_subject", "history", ["subject", "sequence"], unique=False)
    op.create_table(
        "hormones",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("substance", sa.String(), nullable=False),
        sa.Column("form", sa.String(), nullable=False),
        sa.Column("ppm", sa.Integer(), nullable=False),
        sa.Column("label", sa.String(), nullable=False),
        sa.CheckConstraint("ppm >= -1", name=op.f("ck_hormones_ppm_range")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_hormones")),
        sa.UniqueConstraint(
            "substance", "form", "ppm", name=op.f("uq_hormones_substance_form_ppm")
        ),
    )
    op.create_table(
        "ingredients",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("notes", sa.String(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_ingredients")),
        sa.UniqueConstraint("name", name=op.f("uq_ingredients_name")),
    )
    op.create_table(
        "lost_causes",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("spreads", sa.Boolean(), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("retired_at", sa.DateTime(), nullable=True),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_lost_causes")),
        sa.UniqueConstraint("name", name=op.f("uq_lost_causes_name")),
    )
    op.create_table(
        "meta",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("nursery", sa.String(), nullable=False),
        sa.Column("zone", sa.String(), nullable=False),
        sa.Column("hemisphere", sa.String(), nullable=False),
        sa.Column("medium_word", sa.String(), nullable=False),
        sa.Column("data_version", sa.Integer(), nullable=False),
        sa.Column("history_length", sa.Integer(), nullable=False),
        sa.Column("history_hash", sa.String(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.CheckConstraint(
            "hemisphere IN ('north', 'south')", name=op.f("ck_meta_known_hemisphere")
        ),
        sa.CheckConstraint("id = 1", name=op.f("ck_meta_one_row")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_meta")),
    )
    op.create_table(
        "mixes",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("retired_at", sa.DateTime(), nullable=True),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_mixes")),
        sa.UniqueConstraint("name", name=op.f("uq_mixes_name")),
    )
    op.create_table(
        "people",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("key", sa.String(), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("name_key", sa.String(), nullable=False),
        sa.Column("notes", sa.String(), nullable=False),
        sa.Column("erased_at", sa.DateTime(), nullable=True),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_people")),
        sa.UniqueConstraint("key", name=op.f("uq_people_key")),
    )
    op.create_index(
        "uq_people_name_key",
        "people",
        ["name_key"],
        unique=True,
        sqlite_where=sa.text("erased_at IS NULL"),
        postgresql_where=sa.text("erased_at IS NULL"),
    )
    op.create_table(
        "sign_in_events",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("name_key", sa.String(), nullable=False),
        sa.Column("address", sa.String(), nullable=False),
        sa.Column("at", sa.DateTime(), nullable=False),
        sa.Column("outcome", sa.String(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_sign_in_events")),
    )
    op.create_index(
        "ix_sign_in_events_name_address",
        "sign_in_events",
        ["name_key", "address", "at"],
        unique=False,
    )
    op.create_table(
        "accounts",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("person_id", sa.Integer(), nullable=False),
        sa.Column("role", sa.String(), nullable=False),
        sa.Column("password_hash", sa.String(), nullable=False),
        sa.Column("made_at", sa.DateTime(), nullable=False),
        sa.Column("disabled_at", sa.DateTime(), nullable=True),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.CheckConstraint(
            "role IN ('trainee', 'head', 'manager')", name=op.f("ck_accounts_known_role")
        ),
        sa.ForeignKeyConstraint(
            ["person_id"], ["people.id"], name=op.f("fk_accounts_person_id_people")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_accounts")),
        sa.UniqueConstraint("person_id", name=op.f("uq_accounts_person_id")),
    )
    op.create_table(
        "import_stages",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("kind", sa.String(), nullable=False),
        sa.Column("file_name", sa.String(), nullable=False),
        sa.Column("reference", sa.String(), nullable=False),
        sa.Column("file_hash", sa.String(), nullable=False),
        sa.Column("state", sa.String(), nullable=False),
        sa.Column("person_id", sa.Integer(), nullable=True),
        sa.Column("made_at", sa.DateTime(), nullable=False),
        sa.Column("written_at", sa.DateTime(), nullable=True),
        sa.Column("summary", sa.JSON(), nullable=False),
        sa.CheckConstraint(
            "state IN ('waiting', 'written', 'put aside')",
            name=op.f("ck_import_stages_known_state"),
        ),
        sa.ForeignKeyConstraint(
            ["person_id"], ["people.id"], name=op.f("fk_import_stages_person_id_people")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_import_stages")),
    )
    op.create_table(
        "method_cards",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("genus_id", sa.Integer(), nullable=False),
        sa.Column("species", sa.String(), nullable=False),
        sa.Column("cutting_type", sa.String(), nullable=False),
        sa.Column("current", sa.Integer(), nullable=False),
        sa.Column("retired_at", sa.DateTime(), nullable=True),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(
            ["genus_id"], ["genera.id"], name=op.f("fk_method_cards_genus_id_genera")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_method_cards")),
        sa.UniqueConstraint(
            "genus_id",
            "species",
            "cutting_type",
            name=op.f("uq_method_cards_genus_id_species_cutting_type"),
        ),
    )
    op.create_table(
        "mix_versions",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("mix_id", sa.Integer(), nullable=False),
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("made_at", sa.DateTime(), nullable=False),
        sa.Column("shrinkage_share", sa.Double(), nullable=True),
        sa.Column("notes", sa.String(), nullable=False),
        sa.CheckConstraint(
            "shrinkage_share IS NULL OR (shrinkage_share >= 0 AND shrinkage_share < 1)",
            name=op.f("ck_mix_versions_shrinkage_range"),
        ),
        sa.ForeignKeyConstraint(
            ["mix_id"], ["mixes.id"], name=op.f("fk_mix_versions_mix_id_mixes")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_mix_versions")),
        sa.UniqueConstraint("mix_id", "number", name=op.f("uq_mix_versions_mix_id_number")),
    )
    op.create_table(
        "plant_names",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("plain", sa.String(), nullable=False),
        sa.Column("genus_id", sa.Integer(), nullable=False),
        sa.Column("hybrid", sa.String(), nullable=False),
        sa.Column("species", sa.String(), nullable=False),
        sa.Column("infraspecific", sa.String(), nullable=False),
        sa.Column("group_epithet", sa.String(), nullable=False),
        sa.Column("grex", sa.String(), nullable=False),
        sa.Column("cultivar", sa.String(), nullable=False),
        sa.Column("second_parent", sa.String(), nullable=False),
        sa.Column("qualifier", sa.String(), nullable=False),
        sa.Column("trade_designation", sa.String(), nullable=False),
        sa.Column("common_name", sa.String(), nullable=False),
        sa.Column("rights_grant", sa.String(), nullable=False),
        sa.Column("rights_licence", sa.String(), nullable=False),
        sa.Column("rights_until", sa.Date(), nullable=True),
        sa.Column("notes", sa.String(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(
            ["genus_id"], ["genera.id"], name=op.f("fk_plant_names_genus_id_genera")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_plant_names")),
        sa.UniqueConstraint("plain", name=op.f("uq_plant_names_plain")),
    )
    op.create_index(op.f("ix_plant_names_genus_id"), "plant_names", ["genus_id"], unique=False)
    # The nursery itself is one row from the start.
    op.execute(
        "INSERT INTO meta (id, nursery, zone, hemisphere, medium_word, data_version, "
        "history_length, history_hash, version) VALUES (1, '', 'UTC', 'north', 'medium', 0, 0, '', 1)"
    )


def downgrade() -> None:
    op.drop_index(op.f("ix_plant_names_genus_id"), table_name="plant_names")
    op.drop_table("plant_names")
    op.drop_table("mix_versions")
    op.drop_table("method_cards")
    op.drop_table("import_stages")
    op.drop_table("accounts")
    op.drop_index("ix_sign_in_events_name_address", table_name="sign_in_events")
    op.drop_table("sign_in_events")
    op.drop_index(
        "uq_people_name_key",
        table_name="people",
        sqlite_where=sa.text("erased_at IS NULL"),
        postgresql_where=sa.text("erased_at IS NULL"),
    )
    op.drop_table("people")
    op.drop_table("mixes")
    op.drop_table("meta")
    op.drop_table("lost_causes")
    op.drop_table("ingredients")
    op.drop_table("hormones")
    op.drop_index("ix_history_subject", table_name="history")
    op.drop_table("history")
    op.drop_table("genera")
    op.drop_table("fits")
    op.drop_table("containers")
    op.drop_table("benches")
