"""Practical sessions: their people, the cautions read, and their batches."""

import sqlalchemy as sa
from alembic import op

revision = "0025"
down_revision = "0024"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "practicals",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("held_on", sa.Date(), nullable=False),
        sa.Column("topic", sa.String(), nullable=False),
        sa.Column("taught_by_id", sa.Integer(), nullable=True),
        sa.Column("heads", sa.Integer(), nullable=True),
        sa.Column("plant_name_id", sa.Integer(), nullable=True),
        sa.Column("cutting_type", sa.String(), nullable=False),
        sa.Column("per_head", sa.Integer(), nullable=True),
        sa.Column("per_place", sa.Integer(), nullable=True),
        sa.Column("hormone_id", sa.Integer(), nullable=True),
        sa.Column("container_id", sa.Integer(), nullable=True),
        sa.Column("mix_id", sa.Integer(), nullable=True),
        sa.Column("bench_id", sa.Integer(), nullable=True),
        sa.Column("method_card_version_id", sa.Integer(), nullable=True),
        sa.Column("steps", sa.JSON(), nullable=False),
        sa.Column("tools", sa.JSON(), nullable=False),
        sa.Column("cautions", sa.JSON(), nullable=False),
        sa.Column("notes", sa.String(), nullable=False),
        sa.Column("put_off_from", sa.Date(), nullable=True),
        sa.Column("put_off_reason", sa.String(), nullable=False),
        sa.Column("cancelled_at", sa.DateTime(), nullable=True),
        sa.Column("cancelled_by_id", sa.Integer(), nullable=True),
        sa.Column("cancel_reason", sa.String(), nullable=False),
        sa.Column("made_at", sa.DateTime(), nullable=False),
        sa.Column("recorded_by_id", sa.Integer(), nullable=True),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.CheckConstraint("heads IS NULL OR heads > 0", name=op.f("ck_practicals_heads_positive")),
        sa.CheckConstraint(
            "per_head IS NULL OR per_head > 0", name=op.f("ck_practicals_per_head_positive")
        ),
        sa.CheckConstraint(
            "per_place IS NULL OR per_place > 0", name=op.f("ck_practicals_per_place_positive")
        ),
        sa.ForeignKeyConstraint(
            ["bench_id"], ["benches.id"], name=op.f("fk_practicals_bench_id_benches")
        ),
        sa.ForeignKeyConstraint(
            ["cancelled_by_id"], ["people.id"], name=op.f("fk_practicals_cancelled_by_id_people")
        ),
        sa.ForeignKeyConstraint(
            ["container_id"], ["containers.id"], name=op.f("fk_practicals_container_id_containers")
        ),
        sa.ForeignKeyConstraint(
            ["hormone_id"], ["hormones.id"], name=op.f("fk_practicals_hormone_id_hormones")
        ),
        sa.ForeignKeyConstraint(
            ["method_card_version_id"],
            ["method_card_versions.id"],
            name=op.f("fk_practicals_method_card_version_id_method_card_versions"),
        ),
        sa.ForeignKeyConstraint(["mix_id"], ["mixes.id"], name=op.f("fk_practicals_mix_id_mixes")),
        sa.ForeignKeyConstraint(
            ["plant_name_id"],
            ["plant_names.id"],
            name=op.f("fk_practicals_plant_name_id_plant_names"),
        ),
        sa.ForeignKeyConstraint(
            ["recorded_by_id"], ["people.id"], name=op.f("fk_practicals_recorded_by_id_people")
        ),
        sa.ForeignKeyConstraint(
            ["taught_by_id"], ["people.id"], name=op.f("fk_practicals_taught_by_id_people")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_practicals")),
        sa.UniqueConstraint("number", name=op.f("uq_practicals_number")),
    )
    op.create_index("ix_practicals_held_on", "practicals", ["held_on"], unique=False)
    op.create_table(
        "practical_batches",
        sa.Column("batch_id", sa.Integer(), nullable=False),
        sa.Column("practical_id", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(
            ["batch_id"], ["batches.id"], name=op.f("fk_practical_batches_batch_id_batches")
        ),
        sa.ForeignKeyConstraint(
            ["practical_id"],
            ["practicals.id"],
            name=op.f("fk_practical_batches_practical_id_practicals"),
        ),
        sa.PrimaryKeyConstraint("batch_id", name=op.f("pk_practical_batches")),
    )
    op.create_index(
        op.f("ix_practical_batches_practical_id"),
        "practical_batches",
        ["practical_id"],
        unique=False,
    )
    op.create_table(
        "practical_people",
        sa.Column("practical_id", sa.Integer(), nullable=False),
        sa.Column("person_id", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(
            ["person_id"], ["people.id"], name=op.f("fk_practical_people_person_id_people")
        ),
        sa.ForeignKeyConstraint(
            ["practical_id"],
            ["practicals.id"],
            name=op.f("fk_practical_people_practical_id_practicals"),
        ),
        sa.PrimaryKeyConstraint("practical_id", "person_id", name=op.f("pk_practical_people")),
    )
    op.create_index(
        op.f("ix_practical_people_person_id"), "practical_people", ["person_id"], unique=False
    )
    op.create_table(
        "practical_texts",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("practical_id", sa.Integer(), nullable=False),
        sa.Column("fingerprint", sa.String(), nullable=False),
        sa.Column("text", sa.String(), nullable=False),
        sa.ForeignKeyConstraint(
            ["practical_id"],
            ["practicals.id"],
            name=op.f("fk_practical_texts_practical_id_practicals"),
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_practical_texts")),
        sa.UniqueConstraint(
            "practical_id", "fingerprint", name=op.f("uq_practical_texts_practical_id_fingerprint")
        ),
    )
    op.create_table(
        "practical_readings",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("practical_id", sa.Integer(), nullable=False),
        sa.Column("person_id", sa.Integer(), nullable=False),
        sa.Column("text_id", sa.Integer(), nullable=False),
        sa.Column("read_on", sa.Date(), nullable=False),
        sa.Column("aloud", sa.Integer(), nullable=False),
        sa.Column("recorded_at", sa.DateTime(), nullable=False),
        sa.Column("recorded_by_id", sa.Integer(), nullable=True),
        sa.Column("withdrawn_at", sa.DateTime(), nullable=True),
        sa.Column("withdrawn_by_id", sa.Integer(), nullable=True),
        sa.CheckConstraint("aloud IN (0, 1)", name=op.f("ck_practical_readings_aloud_flag")),
        sa.ForeignKeyConstraint(
            ["person_id"], ["people.id"], name=op.f("fk_practical_readings_person_id_people")
        ),
        sa.ForeignKeyConstraint(
            ["practical_id"],
            ["practicals.id"],
            name=op.f("fk_practical_readings_practical_id_practicals"),
        ),
        sa.ForeignKeyConstraint(
            ["recorded_by_id"],
            ["people.id"],
            name=op.f("fk_practical_readings_recorded_by_id_people"),
        ),
        sa.ForeignKeyConstraint(
            ["text_id"],
            ["practical_texts.id"],
            name=op.f("fk_practical_readings_text_id_practical_texts"),
        ),
        sa.ForeignKeyConstraint(
            ["withdrawn_by_id"],
            ["people.id"],
            name=op.f("fk_practical_readings_withdrawn_by_id_people"),
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_practical_readings")),
    )
    op.create_index(
        "ix_practical_readings_practical_id",
        "practical_readings",
        ["practical_id", "person_id"],
        unique=False,
    )


def downgrade() -> None:
    op.drop_index("ix_practical_readings_practical_id", table_name="practical_readings")
    op.drop_table("practical_readings")
    op.drop_table("practical_texts")
    op.drop_index(op.f("ix_practical_people_person_id"), table_name="practical_people")
    op.drop_table("practical_people")
    op.drop_index(op.f("ix_practical_batches_practical_id"), table_name="practical_batches")
    op.drop_table("practical_batches")
    op.drop_index("ix_practicals_held_on", table_name="practicals")
    op.drop_table("practicals")
