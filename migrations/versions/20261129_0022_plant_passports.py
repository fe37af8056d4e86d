"""Plant passports as issued, and what the nursery's have in common."""

import sqlalchemy as sa
from alembic import op

revision = "0022"
down_revision = "0021"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "passport_settings",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("territory", sa.String(), nullable=False),
        sa.Column("operator_number", sa.String(), nullable=False),
        sa.Column("member_state", sa.String(), nullable=False),
        sa.Column("own_title", sa.String(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.CheckConstraint("id = 1", name=op.f("ck_passport_settings_one_row")),
        sa.CheckConstraint(
            "territory IN ('EU', 'GB')", name=op.f("ck_passport_settings_known_territory")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_passport_settings")),
    )
    op.create_table(
        "plant_passports",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("batch_id", sa.Integer(), nullable=False),
        *(
            sa.Column(name, sa.String(), nullable=False)
            for name in ("territory", "title", "a", "b", "c", "d", "e", "blank_reason")
        ),
        sa.Column("plants", sa.Integer(), nullable=False),
        sa.Column("labels", sa.Integer(), nullable=False),
        sa.Column("note", sa.String(), nullable=False),
        sa.Column("replaces_id", sa.Integer(), nullable=True),
        sa.Column("issued_on", sa.Date(), nullable=False),
        sa.Column("issued_at", sa.DateTime(), nullable=False),
        sa.Column("issued_by_id", sa.Integer(), nullable=True),
        sa.Column("voided_at", sa.DateTime(), nullable=True),
        sa.Column("voided_by_id", sa.Integer(), nullable=True),
        sa.Column("void_reason", sa.String(), nullable=False),
        sa.CheckConstraint(
            "territory IN ('EU', 'GB')", name=op.f("ck_plant_passports_known_territory")
        ),
        sa.CheckConstraint("plants > 0", name=op.f("ck_plant_passports_plants_positive")),
        sa.CheckConstraint("labels > 0", name=op.f("ck_plant_passports_labels_positive")),
        sa.CheckConstraint(
            "c <> '' OR blank_reason <> ''", name=op.f("ck_plant_passports_code_or_reason")
        ),
        sa.CheckConstraint(
            "(voided_at IS NULL) = (void_reason = '')",
            name=op.f("ck_plant_passports_void_with_reason"),
        ),
        *(
            sa.ForeignKeyConstraint([column], [f"{table}.id"], name=op.f(name))
            for column, table, name in (
                ("batch_id", "batches", "fk_plant_passports_batch_id_batches"),
                (
                    "replaces_id",
                    "plant_passports",
                    "fk_plant_passports_replaces_id_plant_passports",
                ),
                ("issued_by_id", "people", "fk_plant_passports_issued_by_id_people"),
                ("voided_by_id", "people", "fk_plant_passports_voided_by_id_people"),
            )
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_plant_passports")),
        sa.UniqueConstraint("number", name=op.f("uq_plant_passports_number")),
    )
    for column in ("batch_id", "replaces_id"):
        op.create_index(f"ix_plant_passports_{column}", "plant_passports", [column], unique=False)


def downgrade() -> None:
    op.drop_table("plant_passports")
    op.drop_table("passport_settings")
