"""The season's board: planned, and overruled by hand. What is changed by hand is fixed by that."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime

from sqlalchemy import select, update
from sqlalchemy.orm import Session

from app.domain.orders import OrderState, order_name
from app.domain.people import Actor
from app.domain.problems import NotAccepted, NotFound
from app.domain.season_lines import SeasonLineEntry, accepted_line
from app.services.corrections import correct_row
from app.services.history import JsonValue, record_change
from app.store.models.orders import OrderRow
from app.store.models.season_lines import SeasonLineRow, SeasonPlanRow


@dataclass(frozen=True, kw_only=True)
class PlannedSeason:
    """A plan to be kept: its lines, the room it was made under, and its bound."""

    lines: Sequence[SeasonLineEntry]
    trays: int | None
    labour: int | None
    per_tray: int | None
    gap_share: float
    stopped_early: bool


def keep_season_plan(
    session: Session,
    *,
    actor: Actor | None,
    now: datetime,
    planned: PlannedSeason,
    seen_at: datetime | None,
) -> None:
    """Put a plan on the board in place of every line that is not fixed.

    `seen_at` is when the plan it replaces was made, None where there was none.

    Raises:
        NotAccepted: somebody else planned it meanwhile.
    """
    row = session.get(SeasonPlanRow, 1)
    if (row.planned_at if row else None) != seen_at:
        sentence = "Somebody else planned the season meanwhile: look at their plan first."
        raise NotAccepted.at("", sentence)
    session.execute(update(SeasonLineRow).where(SeasonLineRow.fixed == 0).values(removed=1))
    orders = _open_orders(session)
    session.add_all(
        SeasonLineRow(
            order_id=orders[line.order_number], week_on=line.week_on, cuttings=line.cuttings
        )
        for line in planned.lines
        if line.order_number in orders
    )
    if row is None:
        row = SeasonPlanRow(id=1)
        session.add(row)
    row.planned_at = now
    row.trays, row.labour, row.per_tray = planned.trays, planned.labour, planned.per_tray
    row.gap_share, row.stopped_early = planned.gap_share, int(planned.stopped_early)
    session.flush()
    change: dict[str, JsonValue] = {"lines": [None, len(planned.lines)]}
    record_change(
        session, actor=actor, now=now, what="season planned", subject="season", change=change
    )


def add_season_line(
    session: Session, *, actor: Actor | None, today: date, now: datetime, entry: SeasonLineEntry
) -> int:
    """Put a line on the board by hand and return its id.

    Raises:
        NotAccepted: the week or the number cannot be, or the order is not open.
    """
    entry = accepted_line(entry, today=today)
    order_id = _open_orders(session).get(entry.order_number)
    if order_id is None:
        raise NotAccepted.at("order", "Choose an order that is open.")
    row = SeasonLineRow(
        order_id=order_id,
        week_on=entry.week_on,
        cuttings=entry.cuttings,
        note=entry.note,
        fixed=1,
    )
    session.add(row)
    session.flush()
    _write(session, actor, now, "put on the board", entry.order_number, _told(None, entry))
    return row.id


def correct_season_line(
    session: Session,
    *,
    actor: Actor,
    today: date,
    now: datetime,
    line_id: int,
    version: int,
    entry: SeasonLineEntry,
) -> None:
    """Change week, number or note of a line, which is fixed from then on.

    Raises:
        NotAccepted: the week or the number cannot be.
        ChangedMeanwhile: somebody else saved it after `version` was read.
        NotFound: it is no longer on the board.
    """
    row, number = _row(session, line_id)
    entry = accepted_line(entry, today=today)
    after = {"week_on": entry.week_on, "cuttings": entry.cuttings, "note": entry.note, "fixed": 1}
    if changes := correct_row(row, version=version, after=after):
        session.flush()
        _write(session, actor, now, "changed on the board", number, changes)


def fix_season_line(
    session: Session, *, actor: Actor, now: datetime, line_id: int, fixed: bool
) -> None:
    """Fix a line, so that it stays when the season is planned again, or let it go.

    Raises:
        NotFound: it is no longer on the board.
    """
    row, number = _row(session, line_id)
    if changes := correct_row(row, version=row.version, after={"fixed": int(fixed)}):
        session.flush()
        what = "fixed on the board" if fixed else "let go on the board"
        _write(session, actor, now, what, number, changes)


def remove_season_line(
    session: Session, *, actor: Actor, now: datetime, line_id: int
) -> SeasonLineEntry:
    """Take a line off the board and return what it said.

    Raises:
        NotFound: it is no longer on the board.
    """
    row, number = _row(session, line_id)
    row.removed = 1
    session.flush()
    entry = _entry(row, number)
    _write(session, actor, now, "taken off the board", number, _told(entry, None))
    return entry


def put_back_season_line(
    session: Session, *, actor: Actor, now: datetime, line_id: int
) -> SeasonLineEntry:
    """Put a line that was taken off back on the board, fixed, and return what it says.

    Raises:
        NotFound: there never was such a line, or it is on the board.
    """
    row = session.get(SeasonLineRow, line_id)
    if row is None or not row.removed:
        raise NotFound("There is no such line to put back.")
    number = session.get_one(OrderRow, row.order_id).number
    row.removed, row.fixed = 0, 1
    session.flush()
    entry = _entry(row, number)
    _write(session, actor, now, "put on the board", number, _told(None, entry))
    return entry


def _entry(row: SeasonLineRow, number: int) -> SeasonLineEntry:
    return SeasonLineEntry(
        order_number=number, week_on=row.week_on, cuttings=row.cuttings, note=row.note
    )


def _open_orders(session: Session) -> dict[int, int]:
    query = select(OrderRow.number, OrderRow.id).where(OrderRow.state == OrderState.OPEN.value)
    return {row.number: row.id for row in session.execute(query)}


def _row(session: Session, line_id: int) -> tuple[SeasonLineRow, int]:
    row = session.get(SeasonLineRow, line_id)
    if row is None or row.removed:
        raise NotFound("This line is no longer on the board: it was removed or planned anew.")
    return row, session.get_one(OrderRow, row.order_id).number


def _told(before: SeasonLineEntry | None, after: SeasonLineEntry | None) -> dict[str, JsonValue]:
    both = (before, after)
    return {
        "week_on": [one.week_on.isoformat() if one else None for one in both],
        "cuttings": [one.cuttings if one else None for one in both],
    }


def _write(
    session: Session,
    actor: Actor | None,
    now: datetime,
    what: str,
    number: int,
    change: dict[str, JsonValue],
) -> None:
    record_change(
        session, actor=actor, now=now, what=what, subject=order_name(number), change=change
    )
