"""Placing a hold on what is suspect and on what may have caught it, and lifting it again."""

from collections.abc import Collection, Iterable, Iterator
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any, Final

from sqlalchemy import func, insert, select
from sqlalchemy.orm import Session

from app.domain.codes import hold_code
from app.domain.holds import HoldEntry, Touched, accepted_hold, held_words
from app.domain.lines import Member, MemberKind
from app.domain.people import Actor
from app.domain.problems import NotAccepted, NotAllowed, NotFound
from app.domain.reasons import accepted_reason
from app.domain.stock_plants import StockPlantState
from app.services.history import Entry, JsonValue, record_changes
from app.store.models.holds import Hold, HoldItem
from app.store.models.stock_plants import StockPlant
from app.store.queries.line_members import member_codes

WHY_LIFTED: Final = "Say why it is lifted: what was tested or looked at."
UNDONE: Final = "taken back right after it was placed"
_COLUMNS: Final = {MemberKind.BATCH: "batch_id", MemberKind.STOCK_PLANT: "stock_plant_id"}


@dataclass(frozen=True, kw_only=True)
class PlacedHold:
    """A hold as the program knows it from now on."""

    id: int
    code: str


def place_hold(
    session: Session,
    *,
    actor: Actor,
    today: date,
    now: datetime,
    entry: HoldEntry,
    touched: Collection[Touched],
) -> PlacedHold:
    """Place a hold and hold what is handed in as touched and still here; return its code.

    Raises:
        NotAccepted: the entry breaks a rule.
    """
    entry = accepted_hold(entry, today=today)
    number = (session.scalar(select(func.max(Hold.number))) or 0) + 1
    hold = Hold(
        number=number,
        suspected=entry.suspected,
        since_on=entry.since_on,
        ways=", ".join(way.value for way in entry.ways),
        placed_on=today,
        placed_at=now,
        placed_by_id=actor.person_id,
        **{_COLUMNS[entry.suspect.kind]: entry.suspect.id},
    )
    session.add(hold)
    session.flush()
    code = hold_code(number)
    told = [Entry(what="hold placed", subject=f"hold {code}", change={})]
    told += _hold_all(session, hold, touched=touched, now=now)
    record_changes(session, actor=actor, now=now, entries=told)
    return PlacedHold(id=hold.id, code=code)


def hold_more(
    session: Session, *, actor: Actor, now: datetime, hold_id: int, touched: Collection[Touched]
) -> int:
    """Hold what was found later as well, and return how much that was.

    Raises:
        NotAccepted: the hold is lifted.
        NotFound: there is no such hold.
    """
    hold = _standing_hold(session, hold_id)
    told = list(_hold_all(session, hold, touched=touched, now=now))
    record_changes(session, actor=actor, now=now, entries=told)
    return len(told)


def lift_hold(session: Session, *, actor: Actor, now: datetime, hold_id: int, reason: str) -> None:
    """Lift a hold from everything that it still holds, with a reason.

    Raises:
        NotAccepted: no reason is given, or it is lifted already.
        NotFound: there is no such hold.
    """
    hold = _standing_hold(session, hold_id)
    tidy = accepted_reason(reason, missing=WHY_LIFTED)
    hold.lifted_at, hold.lifted_by_id, hold.lift_reason = now, actor.person_id, tidy
    change: dict[str, JsonValue] = {"lifted": [False, True], "reason": [None, tidy]}
    told = [Entry(what="hold lifted", subject=f"hold {hold_code(hold.number)}", change=change)]
    told += _free(session, hold, _held_items(session, hold), actor=actor, now=now, reason=tidy)
    record_changes(session, actor=actor, now=now, entries=told)


def undo_hold(session: Session, *, actor: Actor, today: date, now: datetime, hold_id: int) -> None:
    """Take back a hold that was placed by mistake, by who placed it and on the same day.

    Raises:
        NotAccepted: it is lifted already.
        NotAllowed: somebody else placed it, or on another day.
        NotFound: there is no such hold.
    """
    hold = _standing_hold(session, hold_id)
    if (hold.placed_by_id, hold.placed_on) != (actor.person_id, today):
        raise NotAllowed("Only who placed a hold can take it back, on the same day. Ask the head.")
    lift_hold(session, actor=actor, now=now, hold_id=hold_id, reason=UNDONE)


def lift_item(session: Session, *, actor: Actor, now: datetime, item_id: int, reason: str) -> None:
    """Lift a hold from one of the things it holds, with a reason; the rest stays held.

    Raises:
        NotAccepted: no reason is given, or it is free already.
        NotFound: there is no such thing held.
    """
    item = session.get(HoldItem, item_id)
    if item is None:
        raise NotFound("This hold holds no such thing.")
    tidy = accepted_reason(reason, missing=WHY_LIFTED)
    if item.lifted_at is not None:
        raise NotAccepted.at("reason", "This one is free already.")
    hold = session.get_one(Hold, item.hold_id)
    told = list(_free(session, hold, [item], actor=actor, now=now, reason=tidy))
    record_changes(session, actor=actor, now=now, entries=told)


def _hold_all(
    session: Session, hold: Hold, *, touched: Collection[Touched], now: datetime
) -> Iterator[Entry]:
    """Hold what this hold does not hold yet, and yield the history line of each."""
    held = {_member(item) for item in _held_items(session, hold)}
    new = [each for each in touched if each.member not in held]
    codes = member_codes(session, members=[each.member for each in new])
    because = held_words(hold_code(hold.number), suspected=hold.suspected)
    rows: list[dict[str, Any]] = []
    for each in new:
        before = _put_on_hold(session, each.member, because=because)
        rows.append(
            {
                "hold_id": hold.id,
                "stock_plant_id": None,
                "batch_id": None,
                "way": each.way.value,
                "held_at": now,
                "lift_reason": "",
                **before,
                _COLUMNS[each.member.kind]: each.member.id,
            }
        )
        subject = f"{each.member.kind.value} {codes[each.member]}"
        yield Entry(what="put on hold", subject=subject, change={"on hold": [None, because]})
    if rows:
        session.flush()
        session.execute(insert(HoldItem), rows)


def _put_on_hold(session: Session, member: Member, *, because: str) -> dict[str, str]:
    """Set a stock plant on hold and return what it goes back to; a batch has no such state."""
    before = {"state_before": "", "reason_before": ""}
    if member.kind is not MemberKind.STOCK_PLANT:
        return before
    plant = session.get_one(StockPlant, member.id)
    earlier = _first_item(session, plant)
    if earlier is not None:
        return {"state_before": earlier.state_before, "reason_before": earlier.reason_before}
    before = {"state_before": plant.state, "reason_before": plant.state_reason}
    plant.state, plant.state_reason = str(StockPlantState.ON_HOLD), because
    return before


def _free(
    session: Session,
    hold: Hold,
    items: Iterable[HoldItem],
    *,
    actor: Actor,
    now: datetime,
    reason: str,
) -> Iterator[Entry]:
    """Lift the items of a hold and yield the history line of each."""
    freed = list(items)
    for item in freed:
        item.lifted_at, item.lifted_by_id, item.lift_reason = now, actor.person_id, reason
    session.flush()
    codes = member_codes(session, members=[_member(item) for item in freed])
    because = held_words(hold_code(hold.number), suspected=hold.suspected)
    for item in freed:
        member = _member(item)
        if member.kind is MemberKind.STOCK_PLANT:
            _put_back(session, item)
        subject = f"{member.kind.value} {codes[member]}"
        change: dict[str, JsonValue] = {"on hold": [because, None], "reason": [None, reason]}
        yield Entry(what="hold lifted", subject=subject, change=change)
    session.flush()


def _put_back(session: Session, item: HoldItem) -> None:
    """Let a stock plant be as it was before, or say what else holds it."""
    plant = session.get_one(StockPlant, item.stock_plant_id)
    if plant.state != StockPlantState.ON_HOLD:
        return
    other = _first_item(session, plant)
    if other is None:
        plant.state, plant.state_reason = item.state_before, item.reason_before
        return
    hold = session.get_one(Hold, other.hold_id)
    plant.state_reason = held_words(hold_code(hold.number), suspected=hold.suspected)


def _first_item(session: Session, plant: StockPlant) -> HoldItem | None:
    query = (
        select(HoldItem)
        .where(HoldItem.stock_plant_id == plant.id, HoldItem.lifted_at.is_(None))
        .order_by(HoldItem.id)
        .limit(1)
    )
    return session.scalar(query)


def _held_items(session: Session, hold: Hold) -> list[HoldItem]:
    query = select(HoldItem).where(HoldItem.hold_id == hold.id, HoldItem.lifted_at.is_(None))
    return list(session.scalars(query.order_by(HoldItem.id)))


def _standing_hold(session: Session, hold_id: int) -> Hold:
    hold = session.get(Hold, hold_id)
    if hold is None:
        raise NotFound("There is no such hold.")
    if hold.lifted_at is not None:
        raise NotAccepted.at("reason", f"{hold_code(hold.number)} is lifted already.")
    return hold


def _member(item: HoldItem) -> Member:
    if item.batch_id is not None:
        return Member(kind=MemberKind.BATCH, id=item.batch_id)
    assert item.stock_plant_id is not None  # noqa: S101 - a CHECK of the table says so
    return Member(kind=MemberKind.STOCK_PLANT, id=item.stock_plant_id)
