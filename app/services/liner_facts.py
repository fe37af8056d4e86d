"""The one way in which the sums of liner lots, and of batches after rooting, are written down."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import asdict, replace
from typing import Any

from sqlalchemy import Table, delete, insert, select
from sqlalchemy.orm import Session

from app.domain.days import day_long
from app.domain.liner_stages import (
    AfterRootingCounts,
    Followed,
    LotStanding,
    RootedBy,
    StagesDoNotAddUp,
    follow_stages,
)
from app.domain.outcomes import CheckCounts
from app.domain.problems import NotAccepted
from app.services.data_versions import let_be_stale
from app.store.models.batches import Batch
from app.store.models.liner_lots import LinerFacts, LinerLotFacts
from app.store.queries.liner_families import read_family, read_taking_events


def refresh_liner_facts(
    session: Session, *, batch_ids: Iterable[int] = (), lot_ids: Iterable[int] = ()
) -> Followed:
    """Work out afresh everything that hangs together with these, store it and return it.

    Raises:
        StagesDoNotAddUp: more left a batch or a lot than were in it; nothing was stored.
    """
    session.flush()
    family = read_family(session, batch_ids=batch_ids, lot_ids=lot_ids)
    followed = follow_stages(family.events, lots=family.lots, rooted=family.rooted)
    lots = [lot_facts(lot_id, standing=standing) for lot_id, standing in followed.lots.items()]
    batches = [
        batch_facts(batch_id, counts=counts) for batch_id, counts in followed.batches.items()
    ]
    _store(session, LinerLotFacts, "liner_lot_id", lots)
    _store(session, LinerFacts, "batch_id", batches)
    let_be_stale(session)
    return followed


def lot_facts(lot_id: int, *, standing: LotStanding) -> dict[str, Any]:
    """Return the row of `liner_lot_facts` as it is to be stored."""
    stage = standing.stage.value if standing.stage else ""
    return {"liner_lot_id": lot_id} | asdict(standing) | {"stage": stage}


def batch_facts(batch_id: int, *, counts: AfterRootingCounts) -> dict[str, Any]:
    """Return the row of `liner_facts` as it is to be stored."""
    return {"batch_id": batch_id} | asdict(counts) | {"growing": counts.growing}


def refuse_fewer_rooted(
    session: Session, *, checks: Mapping[int, Sequence[CheckCounts]], batch_ids: Iterable[int]
) -> None:
    """Refuse checks that leave fewer rooted than were potted up or lost after rooting by then.

    Raises:
        NotAccepted: they do.
    """
    query = select(LinerFacts.batch_id, Batch.code).join(Batch, Batch.id == LinerFacts.batch_id)
    known = session.execute(query.where(LinerFacts.batch_id.in_(list(batch_ids)))).all()
    if not known:
        return
    rooted = {
        row.batch_id: RootedBy.of(row.code, checks=checks.get(row.batch_id, ())) for row in known
    }
    events = read_taking_events(session, batch_ids=rooted)
    try:
        follow_stages([replace(event, into_id=None) for event in events], lots=(), rooted=rooted)
    except StagesDoNotAddUp as refusal:
        event = refusal.event
        number = f"{event.number:,} were " if event.number else ""
        sentence = (
            f"It leaves too few rooted for what is written down after it: {number}"
            f"{event.stage.value} on {day_long(event.on)}. Withdraw or correct that stage first."
        )
        raise NotAccepted.at("rooted", sentence) from refusal


def _store(session: Session, model: Any, key: str, rows: list[dict[str, Any]]) -> None:
    table: Table = model.__table__
    ids = [row[key] for row in rows]
    session.execute(delete(table).where(table.c[key].in_(ids)))
    if rows:
        session.execute(insert(table), rows)
