"""Where material was collected and by whose leave, why some was thrown out, hours of each step."""

import sqlalchemy as sa
from alembic import op

revision = "0019"
down_revision = "0018"
branch_labels = None
depends_on = None

_WORDS = (
    ("batches", "thrown_out_cause"),
    ("batch_sources", "place"),
    ("batch_sources", "permitted_by"),
    ("batch_sources", "permit"),
)
_HOURS = ("gathered_hours", "made_hours")


def upgrade() -> None:
    for table, name in _WORDS:
        op.add_column(table, sa.Column(name, sa.String(), server_default="", nullable=False))
    for name in _HOURS:
        op.add_column("batches", sa.Column(name, sa.Double(), nullable=True))


def downgrade() -> None:
    for name in reversed(_HOURS):
        op.drop_column("batches", name)
    for table, name in reversed(_WORDS):
        op.drop_column(table, name)
