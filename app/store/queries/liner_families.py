"""Reading the lots and stages that hang together, for following them day by day."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final

from sqlalchemy import ColumnElement, or_, select
from sqlalchemy.orm import Session

from app.domain.liner_stages import LotHead, RootedBy, Stage, StageEvent
from app.store.models.batches import Batch
from app.store.models.liner_lots import LinerLot, LinerStage
from app.store.queries.checks import counts_by_batch

_EVENT: Final = (
    "id", "position", "stage", "reached_on", "number", "batch_id", "liner_lot_id", "into_lot_id",
    "container_id",
)  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class LinerFamily:
    """Lots and batches that plants went between, with all their live stages."""

    lots: tuple[LotHead, ...]
    events: tuple[StageEvent, ...]
    rooted: dict[int, RootedBy]


def read_family(
    session: Session, *, batch_ids: Iterable[int] = (), lot_ids: Iterable[int] = ()
) -> LinerFamily:
    """Return everything that hangs together with these batches and lots."""
    batches, lots = set(batch_ids), set(lot_ids)
    while True:
        known = len(batches) + len(lots)
        heads = _heads(session, or_(LinerLot.id.in_(lots), LinerLot.batch_id.in_(batches)))
        lots |= {head.id for head in heads}
        batches |= {head.batch_id for head in heads if head.batch_id is not None}
        events = _events(
            session,
            or_(
                LinerStage.batch_id.in_(batches),
                LinerStage.liner_lot_id.in_(lots),
                LinerStage.into_lot_id.in_(lots),
            ),
        )
        for event in events:
            lots |= {one for one in (event.lot_id, event.into_id) if one is not None}
        if len(batches) + len(lots) == known:
            return LinerFamily(lots=heads, events=events, rooted=_rooted(session, batches))


def read_every_family(session: Session) -> LinerFamily:
    """Return all lots and live stages there are, as one."""
    heads, events = _heads(session), _events(session)
    batches = {head.batch_id for head in heads} | {event.batch_id for event in events}
    rooted = _rooted(session, {one for one in batches if one is not None})
    return LinerFamily(lots=heads, events=events, rooted=rooted)


def read_taking_events(session: Session, *, batch_ids: Iterable[int]) -> tuple[StageEvent, ...]:
    """Return the live stages that rooted ones left these batches by."""
    return _events(session, LinerStage.batch_id.in_(set(batch_ids)))


def _heads(session: Session, *conditions: ColumnElement[bool]) -> tuple[LotHead, ...]:
    query = select(LinerLot.id, LinerLot.code, LinerLot.batch_id).where(*conditions)
    rows = session.execute(query.order_by(LinerLot.id))
    return tuple(LotHead(id=row.id, code=row.code, batch_id=row.batch_id) for row in rows)


def _events(session: Session, *conditions: ColumnElement[bool]) -> tuple[StageEvent, ...]:
    columns = [getattr(LinerStage, name) for name in _EVENT]
    query = select(*columns).where(LinerStage.withdrawn == 0, *conditions)
    return tuple(
        StageEvent(
            id=row.id,
            position=row.position,
            stage=Stage(row.stage),
            on=row.reached_on,
            number=row.number or 0,
            batch_id=row.batch_id,
            lot_id=row.liner_lot_id,
            into_id=row.into_lot_id,
            container_id=row.container_id,
        )
        for row in session.execute(query.order_by(LinerStage.id))
    )


def _rooted(session: Session, batch_ids: set[int]) -> dict[int, RootedBy]:
    counts = counts_by_batch(session, batch_ids=batch_ids)
    query = select(Batch.id, Batch.code).where(Batch.id.in_(batch_ids)).order_by(Batch.id)
    return {
        row.id: RootedBy.of(row.code, checks=counts.get(row.id, ()))
        for row in session.execute(query)
    }
