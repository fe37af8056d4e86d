"""Whether raw powder is weighed here."""

import sqlalchemy as sa
from alembic import op

revision = "0012"
down_revision = "0011"
branch_labels = None
depends_on = None


def upgrade() -> None:
    with op.batch_alter_table("meta") as table:
        table.add_column(
            sa.Column("raw_powder", sa.Boolean(), server_default=sa.false(), nullable=False)
        )


def downgrade() -> None:
    with op.batch_alter_table("meta") as table:
        table.drop_column("raw_powder")
