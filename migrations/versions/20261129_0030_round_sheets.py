"""Rounds on paper: sheets with the order of their batches, and what was typed in from them."""

import sqlalchemy as sa
from alembic import op

revision = "0030"
down_revision = "0029"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "round_sheets",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("listed_on", sa.Date(), nullable=False),
        sa.Column("bench_id", sa.Integer(), nullable=True),
        sa.Column("made_by_id", sa.Integer(), nullable=True),
        sa.Column("made_at", sa.DateTime(), nullable=False),
        sa.ForeignKeyConstraint(
            ["bench_id"], ["benches.id"], name=op.f("fk_round_sheets_bench_id_benches")
        ),
        sa.ForeignKeyConstraint(
            ["made_by_id"], ["people.id"], name=op.f("fk_round_sheets_made_by_id_people")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_round_sheets")),
        sa.UniqueConstraint("number", name=op.f("uq_round_sheets_number")),
    )
    op.create_table(
        "round_sheet_lines",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("round_sheet_id", sa.Integer(), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("batch_id", sa.Integer(), nullable=False),
        sa.Column("bench_id", sa.Integer(), nullable=True),
        sa.Column("unrooted", sa.Integer(), nullable=False),
        sa.Column("check_id", sa.Integer(), nullable=True),
        sa.Column("typed", sa.String(), nullable=False),
        sa.CheckConstraint("position > 0", name=op.f("ck_round_sheet_lines_position_from_one")),
        sa.CheckConstraint(
            "unrooted >= 0", name=op.f("ck_round_sheet_lines_unrooted_not_negative")
        ),
        sa.ForeignKeyConstraint(
            ["round_sheet_id"],
            ["round_sheets.id"],
            name=op.f("fk_round_sheet_lines_round_sheet_id_round_sheets"),
        ),
        sa.ForeignKeyConstraint(
            ["batch_id"], ["batches.id"], name=op.f("fk_round_sheet_lines_batch_id_batches")
        ),
        sa.ForeignKeyConstraint(
            ["bench_id"], ["benches.id"], name=op.f("fk_round_sheet_lines_bench_id_benches")
        ),
        sa.ForeignKeyConstraint(
            ["check_id"], ["checks.id"], name=op.f("fk_round_sheet_lines_check_id_checks")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_round_sheet_lines")),
        sa.UniqueConstraint(
            "round_sheet_id",
            "position",
            name=op.f("uq_round_sheet_lines_round_sheet_id_position"),
        ),
        sa.UniqueConstraint(
            "round_sheet_id",
            "batch_id",
            name=op.f("uq_round_sheet_lines_round_sheet_id_batch_id"),
        ),
        sa.UniqueConstraint("check_id", name=op.f("uq_round_sheet_lines_check_id")),
    )
    op.create_index(
        op.f("ix_round_sheet_lines_batch_id"), "round_sheet_lines", ["batch_id"], unique=False
    )
    op.create_table(
        "round_sheet_causes",
        sa.Column("round_sheet_id", sa.Integer(), nullable=False),
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("lost_cause_id", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(
            ["round_sheet_id"],
            ["round_sheets.id"],
            name=op.f("fk_round_sheet_causes_round_sheet_id_round_sheets"),
        ),
        sa.ForeignKeyConstraint(
            ["lost_cause_id"],
            ["lost_causes.id"],
            name=op.f("fk_round_sheet_causes_lost_cause_id_lost_causes"),
        ),
        sa.PrimaryKeyConstraint("round_sheet_id", "number", name=op.f("pk_round_sheet_causes")),
    )


def downgrade() -> None:
    op.drop_table("round_sheet_causes")
    op.drop_index(op.f("ix_round_sheet_lines_batch_id"), table_name="round_sheet_lines")
    op.drop_table("round_sheet_lines")
    op.drop_table("round_sheets")
