"""The season's board: its lines, and the plan they came from."""

import sqlalchemy as sa
from alembic import op

revision = "0013"
down_revision = "0012"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "season_lines",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("order_id", sa.Integer(), nullable=False),
        sa.Column("week_on", sa.Date(), nullable=False),
        sa.Column("cuttings", sa.Integer(), nullable=False),
        sa.Column("fixed", sa.Integer(), nullable=False),
        sa.Column("note", sa.String(), nullable=False),
        sa.Column("removed", sa.Integer(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.CheckConstraint("cuttings > 0", name=op.f("ck_season_lines_cuttings_positive")),
        sa.CheckConstraint("fixed IN (0, 1)", name=op.f("ck_season_lines_fixed_flag")),
        sa.CheckConstraint("removed IN (0, 1)", name=op.f("ck_season_lines_removed_flag")),
        sa.ForeignKeyConstraint(
            ["order_id"], ["orders.id"], name=op.f("fk_season_lines_order_id_orders")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_season_lines")),
    )
    op.create_index("ix_season_lines_order_id", "season_lines", ["order_id"], unique=False)
    op.create_table(
        "season_plans",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("planned_at", sa.DateTime(), nullable=False),
        sa.Column("trays", sa.Integer(), nullable=True),
        sa.Column("labour", sa.Integer(), nullable=True),
        sa.Column("per_tray", sa.Integer(), nullable=True),
        sa.Column("gap_share", sa.Double(), nullable=False),
        sa.Column("stopped_early", sa.Integer(), nullable=False),
        sa.CheckConstraint("id = 1", name=op.f("ck_season_plans_one_row")),
        sa.CheckConstraint(
            "stopped_early IN (0, 1)", name=op.f("ck_season_plans_stopped_early_flag")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_season_plans")),
    )


def downgrade() -> None:
    op.drop_table("season_plans")
    op.drop_index("ix_season_lines_order_id", table_name="season_lines")
    op.drop_table("season_lines")
