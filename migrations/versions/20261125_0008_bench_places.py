"""The order of batches on a bench, and moves of many at once."""

import sqlalchemy as sa
from alembic import op

revision = "0008"
down_revision = "0007"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "bench_places",
        sa.Column("bench_id", sa.Integer(), nullable=False),
        sa.Column("batch_id", sa.Integer(), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.CheckConstraint("position > 0", name=op.f("ck_bench_places_position_positive")),
        sa.ForeignKeyConstraint(
            ["batch_id"], ["batches.id"], name=op.f("fk_bench_places_batch_id_batches")
        ),
        sa.ForeignKeyConstraint(
            ["bench_id"], ["benches.id"], name=op.f("fk_bench_places_bench_id_benches")
        ),
        sa.PrimaryKeyConstraint("bench_id", "batch_id", name=op.f("pk_bench_places")),
    )
    op.create_index(op.f("ix_bench_places_batch_id"), "bench_places", ["batch_id"], unique=False)
    op.create_table(
        "bench_moves",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("key", sa.String(), nullable=False),
        sa.Column("from_bench_id", sa.Integer(), nullable=False),
        sa.Column("to_bench_id", sa.Integer(), nullable=True),
        sa.Column("moved_on", sa.Date(), nullable=False),
        sa.Column("made_at", sa.DateTime(), nullable=False),
        sa.Column("recorded_by_id", sa.Integer(), nullable=True),
        sa.Column("made", sa.JSON(), nullable=False),
        sa.Column("undone_at", sa.DateTime(), nullable=True),
        sa.ForeignKeyConstraint(
            ["from_bench_id"], ["benches.id"], name=op.f("fk_bench_moves_from_bench_id_benches")
        ),
        sa.ForeignKeyConstraint(
            ["recorded_by_id"], ["people.id"], name=op.f("fk_bench_moves_recorded_by_id_people")
        ),
        sa.ForeignKeyConstraint(
            ["to_bench_id"], ["benches.id"], name=op.f("fk_bench_moves_to_bench_id_benches")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_bench_moves")),
        sa.UniqueConstraint("key", name=op.f("uq_bench_moves_key")),
    )


def downgrade() -> None:
    op.drop_table("bench_moves")
    op.drop_index(op.f("ix_bench_places_batch_id"), table_name="bench_places")
    op.drop_table("bench_places")
