"""Finding what a suspicion may have reached, as far as it is recorded."""

from collections.abc import Callable, Iterable, Iterator
from datetime import date
from typing import Any, Final

from sqlalchemy import ColumnElement, and_, case, func, or_, select
from sqlalchemy.orm import Session, aliased

from app.domain.holds import HoldWay, Touched
from app.domain.lines import Descent, Member, MemberKind, steps_from
from app.store.models.batches import Batch, BatchFacts, BatchSource
from app.store.models.benches import BenchStay
from app.store.queries.lines import Way, list_descents

_CUT_ON: Final = func.coalesce(Batch.taken_on, Batch.stuck_on, type_=Batch.stuck_on.type)


def list_touched(
    session: Session,
    *,
    suspect: Member,
    since_on: date | None = None,
    ways: Iterable[HoldWay] = tuple(HoldWay),
) -> tuple[Touched, ...]:
    """Return what may be touched, each once, by the first of the ways that leads there.

    Since `since_on` counts only what was cut from a suspect stock plant, stood beside it or was
    worked on with it from that day on. Void batches are left out.
    """
    wanted, told = set(ways), set[Member]()
    found: list[Touched] = []
    for way, find in _FINDERS.items():
        if way not in wanted:
            continue
        new = sorted(set(find(session, suspect, since_on)) - told)
        told.update(new)
        found += [Touched(member=member, way=way) for member in new]
    return tuple(found)


def _itself(_session: Session, suspect: Member, _since_on: date | None) -> Iterator[Member]:
    yield suspect


def _taken_from(session: Session, suspect: Member, since_on: date | None) -> Iterator[Member]:
    below = list_descents(session, start=[suspect], way=Way.DOWN)
    if since_on is not None and suspect.kind is MemberKind.STOCK_PLANT:
        later = _cut_since(session, stock_plant_id=suspect.id, since_on=since_on)
        below = tuple(each for each in below if each.parent != suspect or each.child.id in later)
    yield from _all_but(suspect, below)


def _came_from(session: Session, suspect: Member, _since_on: date | None) -> Iterator[Member]:
    above = list_descents(session, start=[suspect], way=Way.UP)
    yield from {each.parent for each in above}


def _same_source(session: Session, suspect: Member, since_on: date | None) -> Iterator[Member]:
    above = list(_came_from(session, suspect, since_on))
    yield from {each.child for each in list_descents(session, start=above, way=Way.DOWN)}


def _same_mix_lot(session: Session, suspect: Member, _since_on: date | None) -> Iterator[Member]:
    if suspect.kind is not MemberKind.BATCH:
        return
    lot = select(Batch.mix_lot_id).where(Batch.id == suspect.id).scalar_subquery()
    yield from _batches(session, Batch.mix_lot_id == lot)


def _same_bench(session: Session, suspect: Member, since_on: date | None) -> Iterator[Member]:
    mine, other = aliased(BenchStay), aliased(BenchStay)
    mine_is = mine.batch_id if suspect.kind is MemberKind.BATCH else mine.stock_plant_id
    my_facts, facts = aliased(BatchFacts), aliased(BatchFacts)
    mine_until, other_until = _until(mine, my_facts), _until(other, facts)
    together = and_(
        or_(mine_until.is_(None), mine_until >= other.from_on),
        or_(other_until.is_(None), other_until >= mine.from_on),
    )
    query = (
        select(other.batch_id, other.stock_plant_id)
        .join_from(mine, other, other.bench_id == mine.bench_id)
        .outerjoin(my_facts, my_facts.batch_id == mine.batch_id)
        .outerjoin(facts, facts.batch_id == other.batch_id)
        .where(mine_is == suspect.id, together, func.coalesce(facts.voided, 0) == 0)
        .distinct()
    )
    if since_on is not None:
        for until in (mine_until, other_until):
            query = query.where(or_(until.is_(None), until >= since_on))
    for row in session.execute(query):
        kind = MemberKind.STOCK_PLANT if row.batch_id is None else MemberKind.BATCH
        yield Member(kind=kind, id=row.batch_id or row.stock_plant_id)


def _until(stay: Any, facts: Any) -> ColumnElement[Any]:
    """Return the last day of a stay, NULL where it goes on; a batch stands until it is cleared."""
    cleared_on = case((facts.unrooted == 0, facts.counted_on), else_=None)
    return func.coalesce(stay.to_on, cleared_on, type_=BenchStay.from_on.type)


def _same_hands(session: Session, suspect: Member, since_on: date | None) -> Iterator[Member]:
    """Give the batches cut or stuck on a day and by a person of the suspect's own batches."""
    work = _work_of(session, suspect, since_on)
    query = select(Batch.id, _CUT_ON.label("cut_on"), Batch.stuck_on, *_HANDS).where(
        Batch.voided_at.is_(None), or_(Batch.stuck_on.in_(work), _CUT_ON.in_(work))
    )
    for row in session.execute(query):
        people = set(row[3:])
        if any(people & work.get(day, set()) for day in (row.cut_on, row.stuck_on)):
            yield Member(kind=MemberKind.BATCH, id=row.id)


_HANDS: Final = (Batch.gathered_by_id, Batch.made_by_id, Batch.stuck_by_id)


def _work_of(session: Session, suspect: Member, since_on: date | None) -> dict[date, set[int]]:
    """Return who worked on the suspect's own batches on each day."""
    query = select(_CUT_ON.label("cut_on"), Batch.stuck_on, *_HANDS).where(
        Batch.voided_at.is_(None)
    )
    if suspect.kind is MemberKind.BATCH:
        query = query.where(Batch.id == suspect.id)
    else:
        query = query.join(BatchSource, BatchSource.batch_id == Batch.id).where(
            BatchSource.stock_plant_id == suspect.id
        )
    if since_on is not None:
        query = query.where(Batch.stuck_on >= since_on)
    work: dict[date, set[int]] = {}
    for row in session.execute(query):
        people = {one for one in row[2:] if one is not None}
        for day in {row.cut_on, row.stuck_on}:
            work.setdefault(day, set()).update(people)
    return {day: people for day, people in work.items() if people}


def _cut_since(session: Session, *, stock_plant_id: int, since_on: date) -> set[int]:
    query = (
        select(Batch.id)
        .join(BatchSource, BatchSource.batch_id == Batch.id)
        .where(BatchSource.stock_plant_id == stock_plant_id, since_on <= _CUT_ON)
    )
    return set(session.scalars(query))


def _batches(session: Session, *conditions: ColumnElement[bool]) -> Iterator[Member]:
    query = select(Batch.id).where(Batch.voided_at.is_(None), *conditions)
    yield from (Member(kind=MemberKind.BATCH, id=one) for one in session.scalars(query))


def _all_but(suspect: Member, descents: Iterable[Descent]) -> Iterator[Member]:
    """Give what is still reached from the suspect by these descents."""
    yield from (each for each in steps_from(suspect, descents=descents) if each != suspect)


_Finder = Callable[[Session, Member, "date | None"], Iterator[Member]]
_FINDERS: Final[dict[HoldWay, _Finder]] = {
    HoldWay.ITSELF: _itself,
    HoldWay.TAKEN_FROM_IT: _taken_from,
    HoldWay.CAME_FROM: _came_from,
    HoldWay.SAME_SOURCE: _same_source,
    HoldWay.SAME_MIX_LOT: _same_mix_lot,
    HoldWay.SAME_BENCH: _same_bench,
    HoldWay.SAME_HANDS: _same_hands,
}
