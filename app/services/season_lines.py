"""The season's board: planned, and overruled by hand. What is changed by hand is fixed by that."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Final

from sqlalchemy import select, update
from sqlalchemy.orm import Session

from app.domain.orders import OrderState, order_name
from app.domain.people import Actor
from app.domain.problems import NotAccepted, NotFound
from app.domain.season_lines import SeasonLineEntry, accepted_line, monday_of
from app.services.corrections import correct_row
from app.services.history import JsonValue, record_change
from app.store.models.orders import OrderRow
from app.store.models.season_lines import SeasonLineRow, SeasonPlanRow

OLD_PLAN: Final = "This plan can no longer be carried out: plan once more."


@dataclass(frozen=True, kw_only=True)
class PlannedSeason:
    """A plan to be kept: its lines, the room it was made under, and its bound."""

    lines: Sequence[SeasonLineEntry]
    trays: int | None
    labour: int | None
    per_tray: int | None
    gap_share: float
    stopped_early: bool
    fixed: frozenset[tuple[int, int]] = frozenset()
    """(id, version) of each fixed line that it was made beside."""


def keep_season_plan(
    session: Session,
    *,
    actor: Actor | None,
    today: date,
    now: datetime,
    planned: PlannedSeason,
    seen_at: datetime | None,
) -> None:
    """Put a plan on the board in place of every line that is not fixed.

    `seen_at` is when the plan it replaces was made, None where there was none.

    Raises:
        NotAccepted: somebody else planned it or changed what is fixed meanwhile, or the plan is
            not one that can be carried out: a week that is over, a number that cannot be.
    """
    row = session.get(SeasonPlanRow, 1)
    _refuse_outdated(session, row, planned=planned, seen_at=seen_at, today=today)
    lines = _accepted(planned.lines, today=today)
    session.execute(update(SeasonLineRow).where(SeasonLineRow.fixed == 0).values(removed=1))
    orders = _open_orders(session)
    session.add_all(
        SeasonLineRow(
            order_id=orders[line.order_number], week_on=line.week_on, cuttings=line.cuttings
        )
        for line in lines
        if line.order_number in orders
    )
    _keep_room(session, row, planned=planned, now=now)
    change: dict[str, JsonValue] = {"lines": [None, len(lines)]}
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
    # Fixed marks it as taken off by hand: what planning anew replaced is never put back.
    row.removed, row.fixed = 1, 1
    session.flush()
    entry = _entry(row, number)
    _write(session, actor, now, "taken off the board", number, _told(entry, None))
    return entry


def put_back_season_line(
    session: Session, *, actor: Actor, today: date, now: datetime, line_id: int
) -> SeasonLineEntry:
    """Put a line that was taken off by hand back on the board, fixed, and return what it says.

    Raises:
        NotAccepted: its week is over, or its order is no longer open.
        NotFound: no such line was taken off by hand.
    """
    row = session.get(SeasonLineRow, line_id)
    if row is None or not (row.removed and row.fixed):
        raise NotFound("There is no such line to put back.")
    number = session.get_one(OrderRow, row.order_id).number
    entry = accepted_line(_entry(row, number), today=today)
    if number not in _open_orders(session):
        raise NotAccepted.at("", f"{order_name(number).capitalize()} is not open any more.")
    row.removed = 0
    session.flush()
    _write(session, actor, now, "put on the board", number, _told(None, entry))
    return entry


def _keep_room(
    session: Session, row: SeasonPlanRow | None, *, planned: PlannedSeason, now: datetime
) -> None:
    if row is None:
        row = SeasonPlanRow(id=1)
        session.add(row)
    row.planned_at = now
    row.trays, row.labour, row.per_tray = planned.trays, planned.labour, planned.per_tray
    row.gap_share, row.stopped_early = planned.gap_share, int(planned.stopped_early)
    session.flush()


def _refuse_outdated(
    session: Session,
    row: SeasonPlanRow | None,
    *,
    planned: PlannedSeason,
    seen_at: datetime | None,
    today: date,
) -> None:
    if (row.planned_at if row else None) != seen_at:
        sentence = "Somebody else planned the season meanwhile: look at their plan first."
        raise NotAccepted.at("", sentence)
    if planned.fixed != _fixed_to_come(session, today=today):
        sentence = "What is fixed on the board changed meanwhile: plan once more beside it."
        raise NotAccepted.at("", sentence)


def _accepted(lines: Sequence[SeasonLineEntry], *, today: date) -> tuple[SeasonLineEntry, ...]:
    """Return the lines of a plan; one that cannot be refuses the whole of it, on top."""
    try:
        return tuple(accepted_line(line, today=today) for line in lines)
    except NotAccepted as refusal:
        raise NotAccepted.at("", f"{OLD_PLAN} {refusal.problems[0].sentence}") from None


def _fixed_to_come(session: Session, *, today: date) -> frozenset[tuple[int, int]]:
    query = select(SeasonLineRow.id, SeasonLineRow.version).where(
        SeasonLineRow.fixed == 1,
        SeasonLineRow.removed == 0,
        SeasonLineRow.week_on >= monday_of(today),
    )
    return frozenset((row.id, row.version) for row in session.execute(query))


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
