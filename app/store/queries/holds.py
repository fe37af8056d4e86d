"""Reading holds: one with what it holds, all of them, and what something is held by."""

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from sqlalchemy import Row, Select, func, select
from sqlalchemy.orm import Session, aliased

from app.domain.codes import hold_code, parse_hold_code
from app.domain.holds import HoldWay
from app.domain.lines import Member, MemberKind
from app.domain.problems import NotFound
from app.store.models.batches import Batch
from app.store.models.holds import Hold, HoldItem
from app.store.models.people import Person
from app.store.models.stock_plants import StockPlant


@dataclass(frozen=True, kw_only=True)
class HeldItem:
    """Something a hold held or holds; `lifted_at` is None while it does."""

    id: int
    member: Member
    way: HoldWay
    held_at: datetime
    lifted_at: datetime | None
    lifted_by: str
    lift_reason: str


@dataclass(frozen=True, kw_only=True)
class KnownHold:
    """A hold as it was placed, and whether it was lifted; `held` of its items are held still."""

    id: int
    number: int
    version: int
    suspect: Member
    suspect_code: str
    suspected: str
    since_on: date | None
    ways: tuple[HoldWay, ...]
    placed_on: date
    placed_by: str
    lifted_at: datetime | None
    lifted_by: str
    lift_reason: str
    held: int

    @property
    def code(self) -> str:
        """Its code, such as H-0001."""
        return hold_code(self.number)


@dataclass(frozen=True, kw_only=True)
class HeldBy:
    """The hold that something stands under."""

    code: str
    suspected: str


def get_hold(session: Session, *, code: str) -> KnownHold:
    """Return the hold of this code.

    Raises:
        NotFound: there is none.
    """
    number = parse_hold_code(code)
    row = None
    if number is not None:
        row = session.execute(_holds().where(Hold.number == number)).one_or_none()
    if row is None:
        raise NotFound(f"There is no hold {code}. They are listed under Records, Holds.")
    return _hold(row)


def has_hold(session: Session, *, number: int) -> bool:
    """Return whether there is a hold of this number."""
    return session.scalar(select(Hold.id).where(Hold.number == number)) is not None


def list_holds(session: Session, *, lifted: bool = False) -> tuple[KnownHold, ...]:
    """Return the holds that stand, or those that were lifted, the newest first."""
    which = Hold.lifted_at.is_not(None) if lifted else Hold.lifted_at.is_(None)
    query = _holds().where(which).order_by(Hold.number.desc())
    return tuple(_hold(row) for row in session.execute(query))


def list_held_items(session: Session, *, hold_id: int) -> tuple[HeldItem, ...]:
    """Return everything a hold held or holds, in the order it was found."""
    query = (
        select(HoldItem.__table__, Person.name.label("lifted_by"))
        .outerjoin(Person, Person.id == HoldItem.lifted_by_id)
        .where(HoldItem.hold_id == hold_id)
        .order_by(HoldItem.id)
    )
    return tuple(
        HeldItem(
            id=row.id,
            member=_member(row),
            way=HoldWay(row.way),
            held_at=row.held_at,
            lifted_at=row.lifted_at,
            lifted_by=row.lifted_by or "",
            lift_reason=row.lift_reason,
        )
        for row in session.execute(query)
    )


def held_by(
    session: Session, *, members: Collection[Member]
) -> Mapping[Member, tuple[HeldBy, ...]]:
    """Return what each of these is held by now, the oldest hold first; the free are left out."""
    found: dict[Member, tuple[HeldBy, ...]] = {}
    columns = {MemberKind.BATCH: HoldItem.batch_id, MemberKind.STOCK_PLANT: HoldItem.stock_plant_id}
    for kind, column in columns.items():
        ids = [member.id for member in members if member.kind is kind]
        query = (
            select(column.label("id"), Hold.number, Hold.suspected)
            .join_from(HoldItem, Hold, Hold.id == HoldItem.hold_id)
            .where(column.in_(ids), HoldItem.lifted_at.is_(None))
            .order_by(Hold.number)
        )
        for row in session.execute(query):
            member = Member(kind=kind, id=row.id)
            hold = HeldBy(code=hold_code(row.number), suspected=row.suspected)
            found[member] = (*found.get(member, ()), hold)
    return found


def list_holds_of(session: Session, *, member: Member) -> tuple[HeldBy, ...]:
    """Return the holds that a stock plant or batch stands under, the oldest first."""
    return held_by(session, members=[member]).get(member, ())


def _holds() -> Select[*tuple[Any, ...]]:
    placer, lifter = aliased(Person), aliased(Person)
    held = (
        select(func.count())
        .where(HoldItem.hold_id == Hold.id, HoldItem.lifted_at.is_(None))
        .correlate(Hold)
        .scalar_subquery()
    )
    return (
        select(
            Hold.__table__,
            func.coalesce(StockPlant.code, Batch.code).label("suspect_code"),
            placer.name.label("placed_by"),
            lifter.name.label("lifted_by"),
            held.label("held"),
        )
        .outerjoin(StockPlant, StockPlant.id == Hold.stock_plant_id)
        .outerjoin(Batch, Batch.id == Hold.batch_id)
        .outerjoin(placer, placer.id == Hold.placed_by_id)
        .outerjoin(lifter, lifter.id == Hold.lifted_by_id)
    )


def _hold(row: Row[*tuple[Any, ...]]) -> KnownHold:
    return KnownHold(
        id=row.id,
        number=row.number,
        version=row.version,
        suspect=_member(row),
        suspect_code=row.suspect_code,
        suspected=row.suspected,
        since_on=row.since_on,
        ways=tuple(HoldWay(word) for word in row.ways.split(", ")),
        placed_on=row.placed_on,
        placed_by=row.placed_by or "",
        lifted_at=row.lifted_at,
        lifted_by=row.lifted_by or "",
        lift_reason=row.lift_reason,
        held=row.held,
    )


def _member(row: Row[*tuple[Any, ...]]) -> Member:
    if row.batch_id is not None:
        return Member(kind=MemberKind.BATCH, id=row.batch_id)
    return Member(kind=MemberKind.STOCK_PLANT, id=row.stock_plant_id)
