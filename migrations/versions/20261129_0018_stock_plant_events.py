"""What happens to stock plants by day; what was known of each becomes its first entries."""

import sqlalchemy as sa
from alembic import op

revision = "0018"
down_revision = "0017"
branch_labels = None
depends_on = None

_EVENTS = sa.table(
    "stock_plant_events",
    sa.column("stock_plant_id", sa.Integer()),
    sa.column("kind", sa.String()),
    sa.column("happened_on", sa.Date()),
    sa.column("plants", sa.Integer()),
    sa.column("about", sa.String()),
    sa.column("result", sa.String()),
    sa.column("finding", sa.String()),
    sa.column("until_on", sa.Date()),
    sa.column("note", sa.String()),
    sa.column("stands", sa.Integer()),
    sa.column("made_at", sa.DateTime()),
    sa.column("withdraw_reason", sa.String()),
    sa.column("version", sa.Integer()),
)
_PLANTS = sa.table(
    "stock_plants",
    sa.column("id", sa.Integer()),
    sa.column("code", sa.String()),
    sa.column("plants", sa.Integer()),
    sa.column("came_on", sa.Date()),
    sa.column("cut_back_on", sa.Date()),
    sa.column("renew_by", sa.Date()),
    sa.column("tested_until", sa.Date()),
    sa.column("true_to_type_on", sa.Date()),
)
_COLUMNS = [column.name for column in _EVENTS.columns]
_TRUE = _PLANTS.c.true_to_type_on
_HISTORY = sa.table("history", sa.column("subject", sa.String()), sa.column("at", sa.DateTime()))


def upgrade() -> None:
    op.create_table(
        "stock_plant_events",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("stock_plant_id", sa.Integer(), nullable=False),
        sa.Column("kind", sa.String(), nullable=False),
        sa.Column("happened_on", sa.Date(), nullable=False),
        sa.Column("by_id", sa.Integer(), nullable=True),
        sa.Column("plants", sa.Integer(), nullable=True),
        sa.Column("about", sa.String(), nullable=False),
        sa.Column("result", sa.String(), nullable=False),
        sa.Column("finding", sa.String(), nullable=False),
        sa.Column("until_on", sa.Date(), nullable=True),
        sa.Column("note", sa.String(), nullable=False),
        sa.Column("stands", sa.Integer(), nullable=False),
        sa.Column("recorded_by_id", sa.Integer(), nullable=True),
        sa.Column("made_at", sa.DateTime(), nullable=False),
        sa.Column("withdrawn_at", sa.DateTime(), nullable=True),
        sa.Column("withdrawn_by_id", sa.Integer(), nullable=True),
        sa.Column("withdraw_reason", sa.String(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.CheckConstraint(
            "kind IN ('counted', 'cut back', 'renewed', 'renewal set', 'tested', 'true to type', 'inspected')",
            name=op.f("ck_stock_plant_events_known_kind"),
        ),
        sa.CheckConstraint(
            "result IN ('', 'good', 'in doubt', 'bad')",
            name=op.f("ck_stock_plant_events_known_result"),
        ),
        sa.CheckConstraint(
            "plants IS NULL OR plants >= 0", name=op.f("ck_stock_plant_events_plants_not_negative")
        ),
        sa.CheckConstraint("stands IN (0, 1)", name=op.f("ck_stock_plant_events_stands_flag")),
        sa.CheckConstraint(
            "stands = 0 OR withdrawn_at IS NULL",
            name=op.f("ck_stock_plant_events_withdrawn_stands_not"),
        ),
        sa.ForeignKeyConstraint(
            ["stock_plant_id"],
            ["stock_plants.id"],
            name=op.f("fk_stock_plant_events_stock_plant_id_stock_plants"),
        ),
        sa.ForeignKeyConstraint(
            ["by_id"], ["people.id"], name=op.f("fk_stock_plant_events_by_id_people")
        ),
        sa.ForeignKeyConstraint(
            ["recorded_by_id"],
            ["people.id"],
            name=op.f("fk_stock_plant_events_recorded_by_id_people"),
        ),
        sa.ForeignKeyConstraint(
            ["withdrawn_by_id"],
            ["people.id"],
            name=op.f("fk_stock_plant_events_withdrawn_by_id_people"),
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_stock_plant_events")),
    )
    op.create_index(
        "ix_stock_plant_events_stock_plant_id",
        "stock_plant_events",
        ["stock_plant_id", "happened_on"],
        unique=False,
    )
    op.add_column("stock_plants", sa.Column("next_inspection_on", sa.Date(), nullable=True))
    op.create_index(
        "ix_stock_plants_next_inspection_on", "stock_plants", ["next_inspection_on"], unique=False
    )
    op.create_index("ix_stock_plants_tested_until", "stock_plants", ["tested_until"], unique=False)
    _carry_over()


def downgrade() -> None:
    op.drop_index("ix_stock_plants_tested_until", table_name="stock_plants")
    op.drop_index("ix_stock_plants_next_inspection_on", table_name="stock_plants")
    op.drop_column("stock_plants", "next_inspection_on")
    op.drop_index("ix_stock_plant_events_stock_plant_id", table_name="stock_plant_events")
    op.drop_table("stock_plant_events")


def _carry_over() -> None:
    """Write each plant's first entries, of the day it came, or else of the day it was entered."""
    entered_at = (
        sa.select(sa.func.min(_HISTORY.c.at, type_=sa.DateTime()))
        .where(_HISTORY.c.subject == sa.literal("stock plant ") + _PLANTS.c.code)
        .correlate(_PLANTS)
        .scalar_subquery()
    )
    # For a plant of which nothing says when it came.
    long_ago = sa.literal_column("'2000-01-01'", sa.Date())
    began_on = sa.func.coalesce(
        _PLANTS.c.came_on, sa.func.date(entered_at, type_=sa.Date()), long_ago, type_=sa.Date()
    )
    made_at = sa.func.coalesce(
        entered_at,
        sa.literal_column("'2000-01-01 12:00:00.000000'", sa.DateTime()),
        type_=sa.DateTime(),
    )
    counted, back = _PLANTS.c.plants, _PLANTS.c.cut_back_on
    renew_by, tested = _PLANTS.c.renew_by, _PLANTS.c.tested_until
    for kind, on, plants, result, until_on, known in (
        ("counted", began_on, counted, "", sa.null(), counted),
        ("cut back", back, sa.null(), "", sa.null(), back),
        ("renewal set", _not_after(began_on, renew_by), sa.null(), "", renew_by, renew_by),
        ("tested", _not_after(began_on, tested), sa.null(), "good", tested, tested),
        ("true to type", _TRUE, sa.null(), "good", sa.null(), _TRUE),
    ):
        lines = sa.select(
            _PLANTS.c.id,
            sa.literal(kind),
            on,
            plants,
            sa.literal(""),
            sa.literal(result),
            sa.literal(""),
            until_on,
            sa.literal(""),
            sa.literal(1),
            made_at,
            sa.literal(""),
            sa.literal(1),
        ).where(known.is_not(None))
        op.execute(sa.insert(_EVENTS).from_select(_COLUMNS, lines.order_by(_PLANTS.c.id)))


def _not_after(day: sa.ColumnElement, other: sa.ColumnElement) -> sa.ColumnElement:
    return sa.case((other < day, other), else_=day)
