"""Other ways than shoots: pieces and which way up they are, grafts, plantlets counted."""

import sqlalchemy as sa
from alembic import op

revision = "0026"
down_revision = "0025"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "batch_ways",
        sa.Column("batch_id", sa.Integer(), nullable=False),
        sa.Column("way_up", sa.String(), nullable=False),
        sa.Column("leaf_part", sa.String(), nullable=False),
        sa.Column("scale_kind", sa.String(), nullable=False),
        sa.Column("graft_method", sa.String(), nullable=False),
        sa.Column("rootstock_id", sa.Integer(), nullable=True),
        sa.Column("rootstock_source", sa.String(), nullable=False),
        sa.Column("union_cm", sa.Double(), nullable=True),
        sa.CheckConstraint(
            "union_cm IS NULL OR union_cm >= 0", name=op.f("ck_batch_ways_union_range")
        ),
        sa.ForeignKeyConstraint(
            ["batch_id"], ["batches.id"], name=op.f("fk_batch_ways_batch_id_batches")
        ),
        sa.ForeignKeyConstraint(
            ["rootstock_id"],
            ["plant_names.id"],
            name=op.f("fk_batch_ways_rootstock_id_plant_names"),
        ),
        sa.PrimaryKeyConstraint("batch_id", name=op.f("pk_batch_ways")),
    )
    op.create_table(
        "check_plantlets",
        sa.Column("check_version_id", sa.Integer(), nullable=False),
        sa.Column("plantlets", sa.Integer(), nullable=False),
        sa.CheckConstraint("plantlets >= 0", name=op.f("ck_check_plantlets_not_negative")),
        sa.ForeignKeyConstraint(
            ["check_version_id"],
            ["check_versions.id"],
            name=op.f("fk_check_plantlets_check_version_id_check_versions"),
        ),
        sa.PrimaryKeyConstraint("check_version_id", name=op.f("pk_check_plantlets")),
    )


def downgrade() -> None:
    op.drop_table("check_plantlets")
    op.drop_table("batch_ways")
