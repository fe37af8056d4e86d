"""Dispatches: plants that left, to whom, and the stages of liner lots that say so."""

import sqlalchemy as sa
from alembic import op

revision = "0031"
down_revision = "0030"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "dispatches",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("sent_on", sa.Date(), nullable=False),
        sa.Column("to_name", sa.String(), nullable=False),
        sa.Column("reference", sa.String(), nullable=False),
        sa.Column("notes", sa.String(), nullable=False),
        sa.Column("made_at", sa.DateTime(), nullable=False),
        sa.Column("recorded_by_id", sa.Integer(), nullable=True),
        sa.Column("withdrawn", sa.Integer(), nullable=False),
        sa.Column("withdrawn_at", sa.DateTime(), nullable=True),
        sa.Column("withdrawn_by_id", sa.Integer(), nullable=True),
        sa.Column("withdraw_reason", sa.String(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.CheckConstraint("withdrawn IN (0, 1)", name=op.f("ck_dispatches_withdrawn_flag")),
        sa.ForeignKeyConstraint(
            ["recorded_by_id"], ["people.id"], name=op.f("fk_dispatches_recorded_by_id_people")
        ),
        sa.ForeignKeyConstraint(
            ["withdrawn_by_id"], ["people.id"], name=op.f("fk_dispatches_withdrawn_by_id_people")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_dispatches")),
        sa.UniqueConstraint("number", name=op.f("uq_dispatches_number")),
    )
    op.create_table(
        "dispatch_lines",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("dispatch_id", sa.Integer(), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("liner_stage_id", sa.Integer(), nullable=False),
        sa.Column("made", sa.JSON(), nullable=False),
        sa.ForeignKeyConstraint(
            ["dispatch_id"],
            ["dispatches.id"],
            name=op.f("fk_dispatch_lines_dispatch_id_dispatches"),
        ),
        sa.ForeignKeyConstraint(
            ["liner_stage_id"],
            ["liner_stages.id"],
            name=op.f("fk_dispatch_lines_liner_stage_id_liner_stages"),
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_dispatch_lines")),
        sa.UniqueConstraint(
            "dispatch_id", "position", name=op.f("uq_dispatch_lines_dispatch_id_position")
        ),
        sa.UniqueConstraint("liner_stage_id", name=op.f("uq_dispatch_lines_liner_stage_id")),
    )


def downgrade() -> None:
    op.drop_table("dispatch_lines")
    op.drop_table("dispatches")
