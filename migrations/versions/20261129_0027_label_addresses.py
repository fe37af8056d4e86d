"""The address that the codes on labels lead to."""

import sqlalchemy as sa
from alembic import op

revision = "0027"
down_revision = "0026"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "label_addresses",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("address", sa.String(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.CheckConstraint("id = 1", name=op.f("ck_label_addresses_one_row")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_label_addresses")),
    )


def downgrade() -> None:
    op.drop_table("label_addresses")
