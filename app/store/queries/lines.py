"""Reading lines of descent: what comes from a stock plant or a batch, and what it comes from.

Void batches stand in no line. A line is followed by the database in one statement, so that one of
thousands costs a few questions and not one for each step.
"""

from collections.abc import Callable, Iterable, Iterator
from enum import StrEnum
from typing import Any, Final

from sqlalchemy import CTE, Select, and_, literal, select, union_all
from sqlalchemy.orm import Session

from app.domain.codes import parse_batch_code
from app.domain.lines import Descent, Member, MemberKind
from app.domain.problems import NotFound
from app.store.models.batches import Batch, BatchSource
from app.store.models.stock_plants import StockPlant
from app.store.queries.batches import find_batch_id
from app.store.queries.stock_plants import find_stock_plant_id

_BATCH: Final = literal(MemberKind.BATCH.value)
_STOCK_PLANT: Final = literal(MemberKind.STOCK_PLANT.value)
_CHUNK: Final = 100  # starts followed at once: databases bound the length of a statement


class Way(StrEnum):
    """Which way a line is followed: down to what was taken from it, up to where it came from."""

    DOWN = "down"
    UP = "up"


def get_member(session: Session, *, code: str) -> Member:
    """Return the stock plant or batch of a code typed forgivingly.

    Raises:
        NotFound: neither has it.
    """
    if parse_batch_code(code) is not None:
        found, kind = find_batch_id(session, code=code), MemberKind.BATCH
    else:
        found, kind = find_stock_plant_id(session, code=code), MemberKind.STOCK_PLANT
    if found is None:
        raise NotFound(
            f"There is no stock plant and no batch {code}. Codes are like S-0031 and 26-0147."
        )
    return Member(kind=kind, id=found)


def list_descents(
    session: Session, *, start: Iterable[Member], way: Way, with_void: bool = False
) -> tuple[Descent, ...]:
    """Return every descent on the way down, or up, from any of these members."""
    starts, found = tuple(start), set[Descent]()
    for place in range(0, len(starts), _CHUNK):
        reached = _reached(
            starts[place : place + _CHUNK],
            follow=_down if way is Way.DOWN else _up,
            with_void=with_void,
        )
        found.update(_descents(session, reached, way=way, with_void=with_void))
    return tuple(sorted(found, key=_by_place))


def list_all_descents(session: Session) -> tuple[Descent, ...]:
    """Return every descent in the log, those of void batches too."""
    return tuple(
        Descent(
            parent=Member(kind=kinds[0], id=row.parent), child=Member(kind=kinds[1], id=row.child)
        )
        for kinds, pairs in _pairs()
        for row in session.execute(pairs)
    )


def descends(session: Session, *, child: Member, parent: Member) -> bool:
    """Return whether `child` is `parent` or comes from it, void batches counted in."""
    if child == parent:
        return True
    reached = _reached((parent,), follow=_down, with_void=True)
    found = select(reached.c.id).where(reached.c.kind == child.kind.value, reached.c.id == child.id)
    return session.scalar(found) is not None


def _by_place(descent: Descent) -> tuple[Member, Member]:
    return descent.parent, descent.child


_Step = tuple[Select[*tuple[Any, ...]], ...]


def _reached(starts: tuple[Member, ...], *, follow: Callable[[CTE], _Step], with_void: bool) -> CTE:
    """Return the members reached, each once, as columns kind and id."""
    known = union_all(
        *(
            select(literal(member.kind.value).label("kind"), literal(member.id).label("id"))
            for member in starts
        )
    ).subquery()
    reached = select(known.c.kind, known.c.id).cte("reached", recursive=True)
    steps = follow(reached)
    return reached.union(*(steps if with_void else _without_void(steps)))


def _without_void(steps: _Step) -> Iterator[Select[*tuple[Any, ...]]]:
    return (step.where(Batch.voided_at.is_(None)) for step in steps)


def _at(reached: CTE, kind: Any) -> Any:
    return reached.c.kind == kind


def _down(reached: CTE) -> _Step:
    """Return what comes next from each member reached; every step knows its batch."""
    cut = (
        select(_BATCH, Batch.id)
        .join(BatchSource, BatchSource.batch_id == Batch.id)
        .join(reached, and_(_at(reached, _STOCK_PLANT), BatchSource.stock_plant_id == reached.c.id))
    )
    kept = (
        select(_STOCK_PLANT, StockPlant.id)
        .join(reached, and_(_at(reached, _BATCH), StockPlant.raised_from_id == reached.c.id))
        .join(Batch, Batch.id == StockPlant.raised_from_id)
    )
    restuck = select(_BATCH, Batch.id).join(
        reached, and_(_at(reached, _BATCH), Batch.restuck_from_id == reached.c.id)
    )
    return cut, kept, restuck


def _up(reached: CTE) -> _Step:
    """Return what each member reached comes from; every step knows its batch."""
    cut = (
        select(_STOCK_PLANT, BatchSource.stock_plant_id)
        .join(Batch, Batch.id == BatchSource.batch_id)
        .join(reached, and_(_at(reached, _BATCH), BatchSource.batch_id == reached.c.id))
        .where(BatchSource.stock_plant_id.is_not(None))
    )
    kept = (
        select(_BATCH, Batch.id)
        .join(StockPlant, StockPlant.raised_from_id == Batch.id)
        .join(reached, and_(_at(reached, _STOCK_PLANT), StockPlant.id == reached.c.id))
    )
    again = Batch.__table__.alias("again")
    restuck = (
        select(_BATCH, Batch.id)
        .join(again, again.c.restuck_from_id == Batch.id)
        .join(reached, and_(_at(reached, _BATCH), again.c.id == reached.c.id))
    )
    return cut, kept, restuck


def _descents(session: Session, reached: CTE, *, way: Way, with_void: bool) -> Iterator[Descent]:
    end = "parent" if way is Way.DOWN else "child"
    for kinds, pairs in _pairs():
        known = pairs.subquery()
        kind = kinds[0] if way is Way.DOWN else kinds[1]
        query = (
            select(known.c.parent, known.c.child)
            .join(reached, and_(reached.c.kind == kind.value, reached.c.id == known.c[end]))
            .distinct()
        )
        if not with_void:
            query = query.where(known.c.voided_at.is_(None))
        for row in session.execute(query):
            yield Descent(
                parent=Member(kind=kinds[0], id=row.parent),
                child=Member(kind=kinds[1], id=row.child),
            )


def _pairs() -> Iterator[tuple[tuple[MemberKind, MemberKind], Select[*tuple[Any, ...]]]]:
    """Give the three ways of coming from something, with the batch that may be void."""
    batch, plant = MemberKind.BATCH, MemberKind.STOCK_PLANT
    yield (
        (plant, batch),
        select(
            BatchSource.stock_plant_id.label("parent"),
            BatchSource.batch_id.label("child"),
            Batch.voided_at,
        )
        .join(Batch, Batch.id == BatchSource.batch_id)
        .where(BatchSource.stock_plant_id.is_not(None)),
    )
    yield (
        (batch, plant),
        select(
            StockPlant.raised_from_id.label("parent"), StockPlant.id.label("child"), Batch.voided_at
        ).join(Batch, Batch.id == StockPlant.raised_from_id),
    )
    yield (
        (batch, batch),
        select(
            Batch.restuck_from_id.label("parent"), Batch.id.label("child"), Batch.voided_at
        ).where(Batch.restuck_from_id.is_not(None)),
    )
