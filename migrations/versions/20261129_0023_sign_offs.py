"""Techniques the head has signed off for somebody."""

import sqlalchemy as sa
from alembic import op

revision = "0023"
down_revision = "0022"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "sign_offs",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("person_id", sa.Integer(), nullable=False),
        sa.Column("technique", sa.String(), nullable=False),
        sa.Column("genus", sa.String(), nullable=False),
        sa.Column("signed_on", sa.Date(), nullable=False),
        sa.Column("signed_by_id", sa.Integer(), nullable=False),
        sa.Column("made_at", sa.DateTime(), nullable=False),
        sa.Column("note", sa.String(), nullable=False),
        sa.Column("withdrawn_at", sa.DateTime(), nullable=True),
        sa.Column("withdrawn_by_id", sa.Integer(), nullable=True),
        sa.Column("withdrawn_reason", sa.String(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.CheckConstraint("technique <> ''", name=op.f("ck_sign_offs_technique_said")),
        sa.CheckConstraint(
            "(withdrawn_at IS NULL) = (withdrawn_by_id IS NULL)",
            name=op.f("ck_sign_offs_withdrawn_by_somebody"),
        ),
        sa.ForeignKeyConstraint(
            ["person_id"], ["people.id"], name=op.f("fk_sign_offs_person_id_people")
        ),
        sa.ForeignKeyConstraint(
            ["signed_by_id"], ["people.id"], name=op.f("fk_sign_offs_signed_by_id_people")
        ),
        sa.ForeignKeyConstraint(
            ["withdrawn_by_id"], ["people.id"], name=op.f("fk_sign_offs_withdrawn_by_id_people")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_sign_offs")),
    )
    op.create_index("ix_sign_offs_person_id", "sign_offs", ["person_id"], unique=False)


def downgrade() -> None:
    op.drop_index("ix_sign_offs_person_id", table_name="sign_offs")
    op.drop_table("sign_offs")
