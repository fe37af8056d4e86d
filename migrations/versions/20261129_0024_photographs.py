"""Photographs of checks and stock plants."""

import sqlalchemy as sa
from alembic import op

revision = "0024"
down_revision = "0023"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "photographs",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("check_id", sa.Integer(), nullable=True),
        sa.Column("stock_plant_id", sa.Integer(), nullable=True),
        sa.Column("sha256", sa.String(), nullable=False),
        sa.Column("size", sa.Integer(), nullable=False),
        sa.Column("width", sa.Integer(), nullable=False),
        sa.Column("height", sa.Integer(), nullable=False),
        sa.Column("small_sha256", sa.String(), nullable=False),
        sa.Column("small_size", sa.Integer(), nullable=False),
        sa.Column("small_width", sa.Integer(), nullable=False),
        sa.Column("small_height", sa.Integer(), nullable=False),
        sa.Column("taken_on", sa.Date(), nullable=False),
        sa.Column("taken_by_id", sa.Integer(), nullable=True),
        sa.Column("caption", sa.String(), nullable=False),
        sa.Column("recorded_by_id", sa.Integer(), nullable=True),
        sa.Column("made_at", sa.DateTime(), nullable=False),
        sa.Column("withdrawn_at", sa.DateTime(), nullable=True),
        sa.Column("withdrawn_by_id", sa.Integer(), nullable=True),
        sa.Column("withdraw_reason", sa.String(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.CheckConstraint(
            "(check_id IS NULL) <> (stock_plant_id IS NULL)",
            name=op.f("ck_photographs_of_one_record"),
        ),
        sa.CheckConstraint(
            "size > 0 AND width > 0 AND height > 0 AND small_size > 0 AND small_width > 0 AND small_height > 0",
            name=op.f("ck_photographs_sizes_above_zero"),
        ),
        sa.CheckConstraint(
            "length(sha256) = 64 AND length(small_sha256) = 64",
            name=op.f("ck_photographs_hashes_are_whole"),
        ),
        sa.ForeignKeyConstraint(
            ["check_id"], ["checks.id"], name=op.f("fk_photographs_check_id_checks")
        ),
        sa.ForeignKeyConstraint(
            ["stock_plant_id"],
            ["stock_plants.id"],
            name=op.f("fk_photographs_stock_plant_id_stock_plants"),
        ),
        sa.ForeignKeyConstraint(
            ["taken_by_id"], ["people.id"], name=op.f("fk_photographs_taken_by_id_people")
        ),
        sa.ForeignKeyConstraint(
            ["recorded_by_id"], ["people.id"], name=op.f("fk_photographs_recorded_by_id_people")
        ),
        sa.ForeignKeyConstraint(
            ["withdrawn_by_id"], ["people.id"], name=op.f("fk_photographs_withdrawn_by_id_people")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_photographs")),
    )
    for column in ("check_id", "stock_plant_id", "sha256", "small_sha256"):
        op.create_index(op.f(f"ix_photographs_{column}"), "photographs", [column], unique=False)


def downgrade() -> None:
    for column in ("small_sha256", "sha256", "stock_plant_id", "check_id"):
        op.drop_index(op.f(f"ix_photographs_{column}"), table_name="photographs")
    op.drop_table("photographs")
