"""Liner lots with codes, and their stages as events that add up.

Nothing wrote these tables before; rows that are there are carried. Each lot gets its potting up as
a stage. A stage of a word that is none of ours becomes "looked at", with the word in its note, and
what was lost up to a stage becomes a stage of its own.
"""

import sqlalchemy as sa
from alembic import op

revision = "0020"
down_revision = "0019"
branch_labels = None
depends_on = None

_MARKS = ("pinched", "potted on", "came through the winter", "looked at", "ready")
_WITHOUT_NUMBER = (
    "'weaning begun', 'pinched', 'potted on', 'came through the winter', 'looked at', 'ready'"
)
_INTO = "'potted up', 'split', 'merged'"
_OUT = "'lost', 'graded out', 'sent out', 'kept as stock plants'"


def upgrade() -> None:
    connection = op.get_bind()
    lots = [dict(row._mapping) for row in connection.execute(sa.text("SELECT * FROM liner_lots"))]
    stages = [
        dict(row._mapping)
        for row in connection.execute(sa.text("SELECT * FROM liner_stages ORDER BY reached_on, id"))
    ]
    op.drop_table("liner_stages")
    op.drop_table("liner_lots")
    _make_lots()
    _make_stages()
    _make_facts()
    _carry(connection, lots=lots, stages=stages)


def downgrade() -> None:
    connection = op.get_bind()
    lots = [dict(row._mapping) for row in connection.execute(sa.text(_LOTS_BEFORE))]
    stages = [dict(row._mapping) for row in connection.execute(sa.text(_STAGES_BEFORE))]
    for table in ("liner_lot_facts", "liner_facts", "liner_stages", "liner_lots"):
        op.drop_table(table)
    _make_lots_before()
    _make_stages_before()
    for lot in lots:
        connection.execute(sa.text(_INSERT_LOT_BEFORE), lot)
    for stage in stages:
        connection.execute(sa.text(_INSERT_STAGE_BEFORE), stage)


_LOTS_BEFORE = """
SELECT l.id, l.container_id, l.mix_lot_id, l.notes, l.version, l.began_on, l.number,
       COALESCE(l.batch_id, (SELECT MIN(id) FROM batches)) AS batch_id
FROM (
  SELECT o.id, o.batch_id, o.notes, o.version,
         (SELECT s.container_id FROM liner_stages s WHERE s.into_lot_id = o.id
          ORDER BY s.id LIMIT 1) AS container_id,
         (SELECT s.mix_lot_id FROM liner_stages s WHERE s.into_lot_id = o.id
          ORDER BY s.id LIMIT 1) AS mix_lot_id,
         COALESCE((SELECT MIN(s.reached_on) FROM liner_stages s WHERE s.into_lot_id = o.id),
                  '2026-01-01') AS began_on,
         COALESCE((SELECT SUM(s.number) FROM liner_stages s WHERE s.into_lot_id = o.id
                   AND s.withdrawn = 0), 1) AS number
  FROM liner_lots o
) l
"""
_STAGES_BEFORE = """
SELECT s.id, COALESCE(s.liner_lot_id, s.into_lot_id, (SELECT MIN(id) FROM liner_lots))
       AS liner_lot_id, s.stage, s.reached_on, COALESCE(s.number, 0) AS number,
       CASE WHEN s.stage IN ('lost', 'graded out') AND s.withdrawn = 0 THEN s.number ELSE 0 END
       AS lost, s.lost_cause_id, s.person_id, s.notes
FROM liner_stages s
WHERE COALESCE(s.liner_lot_id, s.into_lot_id, (SELECT MIN(id) FROM liner_lots)) IS NOT NULL
"""
_INSERT_LOT_BEFORE = (
    "INSERT INTO liner_lots (id, batch_id, began_on, number, container_id, mix_lot_id, notes, "
    "version) VALUES (:id, :batch_id, :began_on, :number, :container_id, :mix_lot_id, :notes, "
    ":version)"
)
_INSERT_STAGE_BEFORE = (
    "INSERT INTO liner_stages (id, liner_lot_id, stage, reached_on, number, lost, lost_cause_id, "
    "person_id, notes) VALUES (:id, :liner_lot_id, :stage, :reached_on, :number, :lost, "
    ":lost_cause_id, :person_id, :notes)"
)


def _carry(
    connection: sa.Connection, *, lots: list[dict[str, object]], stages: list[dict[str, object]]
) -> None:
    taken: dict[int, dict[str, int]] = {}
    for place, lot in enumerate(sorted(lots, key=lambda lot: int(lot["id"])), start=1):
        connection.execute(
            sa.text(
                "INSERT INTO liner_lots (id, running_number, code, batch_id, notes, version) "
                "VALUES (:id, :place, :code, :batch_id, :notes, :version)"
            ),
            lot | {"place": place, "code": f"L-{place:04d}"},
        )
        standing = _carry_lot(
            connection, lot=lot, stages=[one for one in stages if one["liner_lot_id"] == lot["id"]]
        )
        sums = taken.setdefault(lot["batch_id"], {"taken": 0, "ready": 0, "lost": 0})
        sums["taken"] += lot["number"]
        sums["lost"] += standing["lost_growing"]
        sums["ready"] += standing["made"]
    for batch_id, sums in taken.items():
        growing = sums["taken"] - sums["ready"] - sums["lost"]
        connection.execute(
            sa.text(
                "INSERT INTO liner_facts (batch_id, taken, ready, lost, growing) "
                "VALUES (:batch_id, :taken, :ready, :lost, :growing)"
            ),
            sums | {"batch_id": batch_id, "growing": growing},
        )


def _carry_lot(
    connection: sa.Connection, *, lot: dict[str, object], stages: list[dict[str, object]]
) -> dict[str, object]:
    """Write the stages of one lot and how it stands after them; return the latter."""
    first = next((one for one in stages if one["stage"] == "potted up"), None)
    begun: dict[str, object] = {
        "stage": "potted up",
        "reached_on": lot["began_on"],
        "number": lot["number"],
        "batch_id": lot["batch_id"],
        "into_lot_id": lot["id"],
        "container_id": lot["container_id"],
        "mix_lot_id": lot["mix_lot_id"],
    }
    _insert_stage(connection, begun)
    standing: dict[str, object] = {
        "left": lot["number"], "stage": "potted up", "stage_on": lot["began_on"],
        "ready_on": None, "empty_on": None, "made": 0, "lost_growing": 0,
    }  # fmt: skip
    for one in stages:
        if one is not first:
            _carry_stage(connection, one, standing=standing)
    connection.execute(
        sa.text(
            "INSERT INTO liner_lot_facts (liner_lot_id, began, number, stage, stage_on, began_on, "
            "ready_on, empty_on, container_id) VALUES (:id, :began, :left, :stage, :stage_on, "
            ":began_on, :ready_on, :empty_on, :container_id)"
        ),
        lot | {"began": lot["number"]} | standing,
    )
    return standing


def _carry_stage(
    connection: sa.Connection, one: dict[str, object], *, standing: dict[str, object]
) -> None:
    kept = {name: one[name] for name in ("reached_on", "lost_cause_id", "person_id", "notes")}
    kept["liner_lot_id"] = one["liner_lot_id"]
    day = one["reached_on"]
    lost = min(int(one["lost"]), int(standing["left"]))
    if lost:
        _insert_stage(connection, kept | {"stage": "lost", "number": lost})
        standing["left"] -= lost
        standing["lost_growing"] += lost if standing["ready_on"] is None else 0
        if standing["left"] == 0:
            standing |= {"stage": "lost", "stage_on": day, "empty_on": day}
        if one["stage"] == "lost":
            return
    known = one["stage"] in _MARKS and standing["left"] > 0
    if known and (one["stage"] != "ready" or standing["ready_on"] is None):
        stage = {"stage": one["stage"]}
        if one["stage"] != "looked at":
            standing |= {"stage": one["stage"], "stage_on": day}
        if one["stage"] == "ready":
            standing |= {"ready_on": day, "made": standing["left"]}
    else:
        note = ". ".join(filter(None, (one["stage"], one["notes"])))
        stage = {"stage": "looked at", "notes": note}
        if standing["left"] == 0:
            # Nothing was in the lot any more: it stays readable and counts nowhere.
            stage |= {"withdrawn": 1, "withdrawn_reason": "nothing was left by then"}
    _insert_stage(connection, kept | {"lost_cause_id": None} | stage)


def _insert_stage(connection: sa.Connection, values: dict[str, object]) -> None:
    columns = (
        "stage", "reached_on", "number", "batch_id", "liner_lot_id", "into_lot_id",
        "container_id", "mix_lot_id", "lost_cause_id", "person_id", "notes", "withdrawn",
        "withdrawn_reason",
    )  # fmt: skip
    plain = dict.fromkeys(columns) | {"notes": "", "withdrawn": 0, "withdrawn_reason": ""}
    connection.execute(
        sa.text(
            f"INSERT INTO liner_stages ({', '.join(columns)}, position, grade) "  # noqa: S608 - names from above
            f"VALUES ({', '.join(f':{name}' for name in columns)}, "
            "(SELECT COALESCE(MAX(position), 0) + 1 FROM liner_stages), '')"
        ),
        plain | values,
    )


def _make_lots() -> None:
    op.create_table(
        "liner_lots",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("running_number", sa.Integer(), nullable=False),
        sa.Column("code", sa.String(), nullable=False),
        sa.Column("batch_id", sa.Integer(), nullable=True),
        sa.Column("plant_name_id", sa.Integer(), nullable=True),
        sa.Column("trays", sa.Integer(), nullable=True),
        sa.Column("notes", sa.String(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.CheckConstraint(
            "(batch_id IS NULL) = (plant_name_id IS NOT NULL)",
            name=op.f("ck_liner_lots_batch_or_plant"),
        ),
        sa.CheckConstraint("trays IS NULL OR trays > 0", name=op.f("ck_liner_lots_trays_positive")),
        sa.ForeignKeyConstraint(
            ["batch_id"], ["batches.id"], name=op.f("fk_liner_lots_batch_id_batches")
        ),
        sa.ForeignKeyConstraint(
            ["plant_name_id"],
            ["plant_names.id"],
            name=op.f("fk_liner_lots_plant_name_id_plant_names"),
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_liner_lots")),
        sa.UniqueConstraint("code", name=op.f("uq_liner_lots_code")),
        sa.UniqueConstraint("running_number", name=op.f("uq_liner_lots_running_number")),
    )
    for column in ("batch_id", "plant_name_id"):
        op.create_index(op.f(f"ix_liner_lots_{column}"), "liner_lots", [column], unique=False)


def _foreign(table: str, column: str, other: str) -> sa.ForeignKeyConstraint:
    return sa.ForeignKeyConstraint(
        [column], [f"{other}.id"], name=op.f(f"fk_{table}_{column}_{other}")
    )


def _make_stages() -> None:
    table = "liner_stages"
    op.create_table(
        table,
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("stage", sa.String(), nullable=False),
        sa.Column("reached_on", sa.Date(), nullable=False),
        sa.Column("number", sa.Integer(), nullable=True),
        sa.Column("batch_id", sa.Integer(), nullable=True),
        sa.Column("liner_lot_id", sa.Integer(), nullable=True),
        sa.Column("into_lot_id", sa.Integer(), nullable=True),
        sa.Column("container_id", sa.Integer(), nullable=True),
        sa.Column("mix_lot_id", sa.Integer(), nullable=True),
        sa.Column("litres", sa.Double(), nullable=True),
        sa.Column("lost_cause_id", sa.Integer(), nullable=True),
        sa.Column("grade", sa.String(), nullable=False),
        sa.Column("stock_plant_id", sa.Integer(), nullable=True),
        sa.Column("person_id", sa.Integer(), nullable=True),
        sa.Column("recorded_by_id", sa.Integer(), nullable=True),
        sa.Column("made_at", sa.DateTime(), nullable=True),
        sa.Column("notes", sa.String(), nullable=False),
        sa.Column("withdrawn", sa.Integer(), nullable=False),
        sa.Column("withdrawn_at", sa.DateTime(), nullable=True),
        sa.Column("withdrawn_reason", sa.String(), nullable=False),
        *_checks_of_stages(),
        _foreign(table, "batch_id", "batches"),
        _foreign(table, "liner_lot_id", "liner_lots"),
        _foreign(table, "into_lot_id", "liner_lots"),
        _foreign(table, "container_id", "containers"),
        _foreign(table, "mix_lot_id", "mix_lots"),
        _foreign(table, "lost_cause_id", "lost_causes"),
        _foreign(table, "stock_plant_id", "stock_plants"),
        _foreign(table, "person_id", "people"),
        _foreign(table, "recorded_by_id", "people"),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_liner_stages")),
    )
    for column in ("batch_id", "liner_lot_id", "into_lot_id", "mix_lot_id"):
        op.create_index(f"ix_liner_stages_{column}", table, [column], unique=False)


def _checks_of_stages() -> tuple[sa.CheckConstraint, ...]:
    texts = {
        "known_stage": f"stage IN ({_WITHOUT_NUMBER}, {_INTO}, {_OUT})",
        "one_thing": "(batch_id IS NULL) <> (liner_lot_id IS NULL)",
        "stage_of_its_thing": (
            "(batch_id IS NOT NULL AND stage IN ('weaning begun', 'potted up', 'lost')) OR "
            "(liner_lot_id IS NOT NULL AND stage NOT IN ('weaning begun', 'potted up'))"
        ),
        "number_fits": f"(stage IN ({_WITHOUT_NUMBER})) = (number IS NULL)",
        "number_positive": "number IS NULL OR number > 0",
        "into_fits": f"(stage IN ({_INTO})) = (into_lot_id IS NOT NULL)",
        "litres_not_negative": "litres IS NULL OR litres >= 0",
        "withdrawn_flag": "withdrawn IN (0, 1)",
    }
    return tuple(
        sa.CheckConstraint(text, name=op.f(f"ck_liner_stages_{name}"))
        for name, text in texts.items()
    )


def _make_facts() -> None:
    op.create_table(
        "liner_facts",
        sa.Column("batch_id", sa.Integer(), nullable=False),
        sa.Column("taken", sa.Integer(), nullable=False),
        sa.Column("ready", sa.Integer(), nullable=False),
        sa.Column("lost", sa.Integer(), nullable=False),
        sa.Column("growing", sa.Integer(), nullable=False),
        sa.CheckConstraint(
            "ready + lost + growing = taken", name=op.f("ck_liner_facts_counts_add_up")
        ),
        sa.CheckConstraint(
            "taken >= 0 AND ready >= 0 AND lost >= 0 AND growing >= 0",
            name=op.f("ck_liner_facts_counts_not_negative"),
        ),
        _foreign("liner_facts", "batch_id", "batches"),
        sa.PrimaryKeyConstraint("batch_id", name=op.f("pk_liner_facts")),
    )
    op.create_table(
        "liner_lot_facts",
        sa.Column("liner_lot_id", sa.Integer(), nullable=False),
        sa.Column("began", sa.Integer(), nullable=False),
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("stage", sa.String(), nullable=False),
        sa.Column("stage_on", sa.Date(), nullable=True),
        sa.Column("began_on", sa.Date(), nullable=True),
        sa.Column("ready_on", sa.Date(), nullable=True),
        sa.Column("empty_on", sa.Date(), nullable=True),
        sa.Column("container_id", sa.Integer(), nullable=True),
        sa.CheckConstraint(
            "number >= 0 AND began >= number", name=op.f("ck_liner_lot_facts_number_range")
        ),
        _foreign("liner_lot_facts", "container_id", "containers"),
        _foreign("liner_lot_facts", "liner_lot_id", "liner_lots"),
        sa.PrimaryKeyConstraint("liner_lot_id", name=op.f("pk_liner_lot_facts")),
    )
    op.create_index("ix_liner_lot_facts_number", "liner_lot_facts", ["number"], unique=False)


def _make_lots_before() -> None:
    op.create_table(
        "liner_lots",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("batch_id", sa.Integer(), nullable=False),
        sa.Column("began_on", sa.Date(), nullable=False),
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("container_id", sa.Integer(), nullable=True),
        sa.Column("mix_lot_id", sa.Integer(), nullable=True),
        sa.Column("notes", sa.String(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.CheckConstraint("number > 0", name=op.f("ck_liner_lots_number_positive")),
        _foreign("liner_lots", "batch_id", "batches"),
        _foreign("liner_lots", "container_id", "containers"),
        _foreign("liner_lots", "mix_lot_id", "mix_lots"),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_liner_lots")),
    )
    op.create_index(op.f("ix_liner_lots_batch_id"), "liner_lots", ["batch_id"], unique=False)


def _make_stages_before() -> None:
    op.create_table(
        "liner_stages",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("liner_lot_id", sa.Integer(), nullable=False),
        sa.Column("stage", sa.String(), nullable=False),
        sa.Column("reached_on", sa.Date(), nullable=False),
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("lost", sa.Integer(), nullable=False),
        sa.Column("lost_cause_id", sa.Integer(), nullable=True),
        sa.Column("person_id", sa.Integer(), nullable=True),
        sa.Column("notes", sa.String(), nullable=False),
        sa.CheckConstraint(
            "number >= 0 AND lost >= 0", name=op.f("ck_liner_stages_counts_not_negative")
        ),
        _foreign("liner_stages", "liner_lot_id", "liner_lots"),
        _foreign("liner_stages", "lost_cause_id", "lost_causes"),
        _foreign("liner_stages", "person_id", "people"),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_liner_stages")),
    )
    op.create_index(
        op.f("ix_liner_stages_liner_lot_id"), "liner_stages", ["liner_lot_id"], unique=False
    )
