"""Cards say how step by step, and may be for one plant name alone."""

import sqlalchemy as sa
from alembic import op

revision = "0016"
down_revision = "0015"
branch_labels = None
depends_on = None

_TEXTS = ("material", "light", "aftercare", "checks")
_LISTS = ("steps", "troubles")


def upgrade() -> None:
    with op.batch_alter_table("method_cards") as table:
        table.add_column(sa.Column("plant_name_id", sa.Integer(), nullable=True))
        table.create_foreign_key(
            op.f("fk_method_cards_plant_name_id_plant_names"),
            "plant_names",
            ["plant_name_id"],
            ["id"],
        )
        table.drop_constraint(op.f("uq_method_cards_genus_id_species_cutting_type"), type_="unique")
    op.create_index(
        "uq_method_cards_wide",
        "method_cards",
        ["genus_id", "species", "cutting_type"],
        unique=True,
        sqlite_where=sa.text("plant_name_id IS NULL"),
        postgresql_where=sa.text("plant_name_id IS NULL"),
    )
    op.create_index(
        "uq_method_cards_narrow",
        "method_cards",
        ["plant_name_id", "cutting_type"],
        unique=True,
        sqlite_where=sa.text("plant_name_id IS NOT NULL"),
        postgresql_where=sa.text("plant_name_id IS NOT NULL"),
    )
    with op.batch_alter_table("method_card_versions") as table:
        for name in _TEXTS:
            table.add_column(sa.Column(name, sa.String(), server_default="", nullable=False))
        for name in _LISTS:
            table.add_column(sa.Column(name, sa.JSON(), server_default="[]", nullable=False))


def downgrade() -> None:
    # A card for one plant name alone carries that name as its species, which is none of any plant:
    # it is kept, and speaks for no other.
    op.get_bind().execute(
        sa.text(
            "UPDATE method_cards SET species = (SELECT plain FROM plant_names "
            "WHERE plant_names.id = method_cards.plant_name_id) WHERE plant_name_id IS NOT NULL"
        )
    )
    with op.batch_alter_table("method_card_versions") as table:
        for name in (*_LISTS, *_TEXTS):
            table.drop_column(name)
    op.drop_index("uq_method_cards_narrow", table_name="method_cards")
    op.drop_index("uq_method_cards_wide", table_name="method_cards")
    with op.batch_alter_table("method_cards") as table:
        table.drop_constraint(op.f("fk_method_cards_plant_name_id_plant_names"), type_="foreignkey")
        table.drop_column("plant_name_id")
        table.create_unique_constraint(
            op.f("uq_method_cards_genus_id_species_cutting_type"),
            ["genus_id", "species", "cutting_type"],
        )
