"""Of which batches a liner lot holds plants, through every split and merge."""

from collections import defaultdict
from collections.abc import Iterable, Mapping

from app.domain.liner_stages import LotHead, StageEvent


def batches_by_lot(
    lots: Iterable[LotHead], *, events: Iterable[StageEvent]
) -> Mapping[int, frozenset[int]]:
    """Return the ids of the batches whose plants each lot holds or held, by the lot's id."""
    happened = tuple(events)
    found = _own_batches(lots, happened)
    into = _next_lots(happened)
    waiting = list(found)
    while waiting:
        lot_id = waiting.pop()
        for other in into[lot_id]:
            if not found[lot_id] <= found[other]:
                found[other] |= found[lot_id]
                waiting.append(other)
    return {lot_id: frozenset(batches) for lot_id, batches in found.items()}


def _own_batches(
    lots: Iterable[LotHead], events: Iterable[StageEvent]
) -> defaultdict[int, set[int]]:
    """Return the batches that lots were potted up from, by the lot."""
    found: defaultdict[int, set[int]] = defaultdict(set)
    for lot in lots:
        if lot.batch_id is not None:
            found[lot.id].add(lot.batch_id)
    for event in events:
        if event.into_id is not None and event.batch_id is not None:
            found[event.into_id].add(event.batch_id)
    return found


def _next_lots(events: Iterable[StageEvent]) -> defaultdict[int, set[int]]:
    """Return the lots that plants of each lot went on to."""
    into: defaultdict[int, set[int]] = defaultdict(set)
    for event in events:
        if event.into_id is not None and event.lot_id is not None:
            into[event.lot_id].add(event.into_id)
    return into
