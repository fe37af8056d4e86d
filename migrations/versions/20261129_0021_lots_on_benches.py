"""Liner lots stand on benches, as batches and stock plants do."""

import sqlalchemy as sa
from alembic import op

revision = "0021"
down_revision = "0020"
branch_labels = None
depends_on = None

_THREE = (
    "(CASE WHEN batch_id IS NULL THEN 0 ELSE 1 END) + "
    "(CASE WHEN stock_plant_id IS NULL THEN 0 ELSE 1 END) + "
    "(CASE WHEN liner_lot_id IS NULL THEN 0 ELSE 1 END) = 1"
)
_TWO = "(batch_id IS NULL) <> (stock_plant_id IS NULL)"


def upgrade() -> None:
    _make_bench_stays(lots=True)


def downgrade() -> None:
    # What stood there as a lot stands there as its batch again; a merged one as the first there is.
    connection = op.get_bind()
    connection.execute(
        sa.text(
            "UPDATE bench_stays SET liner_lot_id = NULL, batch_id = COALESCE((SELECT batch_id "
            "FROM liner_lots WHERE liner_lots.id = liner_lot_id), (SELECT MIN(id) FROM batches)) "
            "WHERE liner_lot_id IS NOT NULL"
        )
    )
    _make_bench_stays(lots=False)


def _foreign(table: str, column: str, other: str) -> sa.ForeignKeyConstraint:
    return sa.ForeignKeyConstraint(
        [column], [f"{other}.id"], name=op.f(f"fk_{table}_{column}_{other}")
    )


def _make_bench_stays(*, lots: bool) -> None:
    """Make the table anew around its rows, with or without the liner lots."""
    named = ["batch_id", "stock_plant_id", *(["liner_lot_id"] if lots else [])]
    kept = "id, batch_id, stock_plant_id, bench_id, trays, from_on, to_on"
    tables = {"batch_id": "batches", "stock_plant_id": "stock_plants", "liner_lot_id": "liner_lots"}
    op.execute("ALTER TABLE bench_stays RENAME TO bench_stays_before")
    for index in ("batch_id", "batch_now", "bench_now", "stock_plant_id"):
        op.drop_index(f"ix_bench_stays_{index}", table_name="bench_stays_before")
    if not lots:
        op.drop_index("ix_bench_stays_liner_lot_id", table_name="bench_stays_before")
    op.create_table(
        "bench_stays",
        sa.Column("id", sa.Integer(), nullable=False),
        *(sa.Column(name, sa.Integer(), nullable=True) for name in named),
        sa.Column("bench_id", sa.Integer(), nullable=False),
        sa.Column("trays", sa.Integer(), nullable=True),
        sa.Column("from_on", sa.Date(), nullable=False),
        sa.Column("to_on", sa.Date(), nullable=True),
        sa.CheckConstraint(_THREE if lots else _TWO, name=op.f("ck_bench_stays_one_thing")),
        sa.CheckConstraint(
            "to_on IS NULL OR to_on >= from_on", name=op.f("ck_bench_stays_in_order")
        ),
        sa.CheckConstraint(
            "trays IS NULL OR trays > 0", name=op.f("ck_bench_stays_trays_positive")
        ),
        *(_foreign("bench_stays", name, tables[name]) for name in named),
        _foreign("bench_stays", "bench_id", "benches"),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_bench_stays")),
    )
    op.execute(f"INSERT INTO bench_stays ({kept}) SELECT {kept} FROM bench_stays_before")  # noqa: S608 - names from above
    op.drop_table("bench_stays_before")
    for name in named:
        op.create_index(f"ix_bench_stays_{name}", "bench_stays", [name], unique=False)
    for name, column in (("batch_now", "batch_id"), ("bench_now", "bench_id")):
        op.create_index(
            f"ix_bench_stays_{name}",
            "bench_stays",
            [column],
            unique=False,
            sqlite_where=sa.text("to_on IS NULL"),
            postgresql_where=sa.text("to_on IS NULL"),
        )
