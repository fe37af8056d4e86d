"""Batches are found by their mix lot."""

from alembic import op

revision = "0010"
down_revision = "0009"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_index("ix_batches_mix_lot_id", "batches", ["mix_lot_id"], unique=False)


def downgrade() -> None:
    op.drop_index("ix_batches_mix_lot_id", table_name="batches")
