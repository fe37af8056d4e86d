"""Calendar addresses: who reads which due checks without signing in."""

import sqlalchemy as sa
from alembic import op

revision = "0029"
down_revision = "0028"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "calendar_feeds",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("person_id", sa.Integer(), nullable=False),
        sa.Column("scope", sa.String(), nullable=False),
        sa.Column("bench_id", sa.Integer(), nullable=True),
        sa.Column("renewals", sa.Integer(), nullable=False),
        sa.Column("made_at", sa.DateTime(), nullable=False),
        sa.Column("ended_at", sa.DateTime(), nullable=True),
        sa.CheckConstraint(
            "(scope = 'bench') = (bench_id IS NOT NULL)",
            name=op.f("ck_calendar_feeds_bench_named"),
        ),
        sa.CheckConstraint("renewals >= 0", name=op.f("ck_calendar_feeds_renewals_not_negative")),
        sa.CheckConstraint(
            "scope IN ('all', 'bench', 'own')", name=op.f("ck_calendar_feeds_known_scope")
        ),
        sa.ForeignKeyConstraint(
            ["bench_id"], ["benches.id"], name=op.f("fk_calendar_feeds_bench_id_benches")
        ),
        sa.ForeignKeyConstraint(
            ["person_id"], ["people.id"], name=op.f("fk_calendar_feeds_person_id_people")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_calendar_feeds")),
    )
    op.create_index("ix_calendar_feeds_person_id", "calendar_feeds", ["person_id"], unique=False)


def downgrade() -> None:
    op.drop_table("calendar_feeds")
