"""Which lots and batches hang together, because plants went from one to the other."""

from collections.abc import Hashable, Iterable

from app.domain.liner_stages import LotHead, StageEvent


def families_of(
    lots: Iterable[LotHead], *, events: Iterable[StageEvent]
) -> tuple[tuple[tuple[LotHead, ...], tuple[StageEvent, ...]], ...]:
    """Return the lots and stages in groups that have nothing to do with each other."""
    all_lots, all_events = tuple(lots), tuple(events)
    joined: dict[Hashable, Hashable] = {}
    for lot in all_lots:
        _join(joined, _lot(lot.id), _batch(lot.batch_id))
    for event in all_events:
        source = _batch(event.batch_id) or _lot(event.lot_id)
        _join(joined, source, _lot(event.into_id))
    found: dict[Hashable, tuple[list[LotHead], list[StageEvent]]] = {}
    for lot in all_lots:
        found.setdefault(_root(joined, _lot(lot.id)), ([], []))[0].append(lot)
    for event in all_events:
        source = _batch(event.batch_id) or _lot(event.lot_id)
        found.setdefault(_root(joined, source), ([], []))[1].append(event)
    return tuple((tuple(group), tuple(happened)) for group, happened in found.values())


def _lot(lot_id: int | None) -> Hashable:
    return None if lot_id is None else ("lot", lot_id)


def _batch(batch_id: int | None) -> Hashable:
    return None if batch_id is None else ("batch", batch_id)


def _join(joined: dict[Hashable, Hashable], one: Hashable, other: Hashable) -> None:
    if one is not None and other is not None:
        joined[_root(joined, one)] = _root(joined, other)


def _root(joined: dict[Hashable, Hashable], one: Hashable) -> Hashable:
    while (above := joined.setdefault(one, one)) != one:
        joined[one] = joined.setdefault(above, above)
        one = above
    return one
