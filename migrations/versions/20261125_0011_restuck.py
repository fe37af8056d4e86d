"""What was re-stuck from a batch is counted there: cleared, neither rooted nor failed.

No table changes. Until now a re-stuck batch only named the one it came from. Where the number fits
into what stood there, the sums kept of the first batch take it in; where it does not, the link is
taken away and kept in words, since nothing could be worked out with it.
"""

import sqlalchemy as sa
from alembic import op

revision = "0011"
down_revision = "0010"
branch_labels = None
depends_on = None

_PARENTS = """
SELECT p.id, p.code, p.stuck_on, p.voided_at, p.ending_kind, f.unrooted, f.dumped,
       f.cleared_unrooted, SUM(c.stuck) AS moved, MIN(c.stuck_on) AS first_on,
       MAX(c.stuck_on) AS last_on
FROM batches c
JOIN batches p ON p.id = c.restuck_from_id
JOIN batch_facts f ON f.batch_id = p.id
WHERE c.voided_at IS NULL
GROUP BY p.id, p.code, p.stuck_on, p.voided_at, p.ending_kind, f.unrooted, f.dumped,
         f.cleared_unrooted
"""


def upgrade() -> None:
    connection = op.get_bind()
    rows = list(connection.execute(sa.text(_PARENTS)))
    for row in rows:
        left = row.unrooted + row.dumped + row.cleared_unrooted
        if row.voided_at or row.first_on < row.stuck_on or row.moved > left:
            _unlink(connection, row)
        elif row.ending_kind:
            _from_ending(connection, row, moved=row.moved)
        else:
            _from_unrooted(connection, row)
    _let_learn_again(connection, rows)


def downgrade() -> None:
    connection = op.get_bind()
    rows = list(connection.execute(sa.text(_PARENTS)))
    for row in rows:
        if row.ending_kind:
            _from_ending(connection, row, moved=-row.moved)
        else:
            connection.execute(
                sa.text(
                    "UPDATE batch_facts SET unrooted = unrooted + :moved, open = 1, "
                    "cleared_unrooted = cleared_unrooted - :moved WHERE batch_id = :id"
                ),
                {"moved": row.moved, "id": row.id},
            )
    _let_learn_again(connection, rows)


def _unlink(connection: sa.Connection, row: sa.Row[tuple[object, ...]]) -> None:
    connection.execute(
        sa.text(
            "UPDATE batches SET restuck_from_id = NULL, version = version + 1, "
            "notes = TRIM(notes || :said) WHERE restuck_from_id = :id"
        ),
        {"said": f" Re-stuck from {row.code}, of which fewer were left.", "id": row.id},
    )


def _from_ending(connection: sa.Connection, row: sa.Row[tuple[object, ...]], *, moved: int) -> None:
    """Take so many out of those that went with the ending, or give them back below 0."""
    connection.execute(
        sa.text(
            "UPDATE checks SET ended = ended - :moved "
            "WHERE batch_id = :id AND withdrawn = 0 AND ending <> ''"
        ),
        {"moved": moved, "id": row.id},
    )
    if row.ending_kind == "dumped":
        connection.execute(
            sa.text(
                "UPDATE batch_facts SET dumped = dumped - :moved, "
                "cleared_unrooted = cleared_unrooted + :moved WHERE batch_id = :id"
            ),
            {"moved": moved, "id": row.id},
        )


def _from_unrooted(connection: sa.Connection, row: sa.Row[tuple[object, ...]]) -> None:
    connection.execute(
        sa.text(
            "UPDATE batch_facts SET unrooted = unrooted - :moved, "
            "cleared_unrooted = cleared_unrooted + :moved WHERE batch_id = :id"
        ),
        {"moved": row.moved, "id": row.id},
    )
    if row.moved == row.unrooted:
        connection.execute(
            sa.text(
                "UPDATE batch_facts SET open = 0, next_look_on = NULL, next_count_on = NULL, "
                "due_on = NULL, late_on = NULL WHERE batch_id = :id"
            ),
            {"id": row.id},
        )
        connection.execute(
            sa.text("UPDATE batches SET ended_on = :last_on WHERE id = :id"),
            {"last_on": row.last_on, "id": row.id},
        )


def _let_learn_again(connection: sa.Connection, rows: list[sa.Row[tuple[object, ...]]]) -> None:
    if rows:
        connection.execute(sa.text("UPDATE meta SET data_version = data_version + 1"))
