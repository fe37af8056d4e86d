"""Stock plants are found by the batch they were raised in."""

from alembic import op

revision = "0014"
down_revision = "0013"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_index(
        "ix_stock_plants_raised_from_id", "stock_plants", ["raised_from_id"], unique=False
    )


def downgrade() -> None:
    op.drop_index("ix_stock_plants_raised_from_id", table_name="stock_plants")
