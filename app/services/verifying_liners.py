"""Looking over liner lots: every sum worked out again from the stages."""

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from sqlalchemy.orm import Session

from app.domain.codes import liner_lot_code
from app.domain.liner_families import families_of
from app.domain.liner_stages import LotHead, RootedBy, StageEvent, StagesDoNotAddUp, follow_stages
from app.services.liner_facts import batch_facts, lot_facts
from app.store.queries.liner_families import read_every_family
from app.store.queries.verifying_liners import (
    StoredLinerFacts,
    batch_codes,
    list_lot_numbers,
    list_odd_liner_links,
    read_liner_facts,
)


def liner_faults(session: Session) -> Iterator[tuple[str, str]]:
    """Yield (record, sentence) of everything after rooting that does not agree."""
    for number, code in list_lot_numbers(session):
        if code != liner_lot_code(number):
            yield f"liner lot {code}", f"Its number gives the code {liner_lot_code(number)}."
    yield from list_odd_liner_links(session)
    every, stored = read_every_family(session), read_liner_facts(session)
    codes = batch_codes(session)
    unseen = dict(stored.batches)
    for heads, events in families_of(every.lots, events=every.events):
        ids = {head.batch_id for head in heads} | {event.batch_id for event in events}
        rooted = {key: every.rooted[key] for key in ids if key is not None}
        for key in rooted:
            unseen.pop(key, None)
        yield from _of_family(heads, events=events, rooted=rooted, stored=stored)
    for batch_id, kept in unseen.items():
        expected = dict.fromkeys(kept, 0) | {"batch_id": batch_id}
        yield from _unlike(f"batch {codes.get(batch_id, batch_id)}", kept, expected)


def _of_family(
    heads: Sequence[LotHead],
    *,
    events: Sequence[StageEvent],
    rooted: Mapping[int, RootedBy],
    stored: StoredLinerFacts,
) -> Iterator[tuple[str, str]]:
    names = {head.id: f"liner lot {head.code}" for head in heads}
    batches = {key: f"batch {found.code}" for key, found in rooted.items()}
    try:
        followed = follow_stages(events, lots=heads, rooted=rooted)
    except StagesDoNotAddUp as refusal:
        record = next(iter((*names.values(), *batches.values())))
        yield record, f"Its stages do not add up. {refusal}"
        return
    for lot_id, standing in followed.lots.items():
        yield from _unlike(
            names[lot_id], stored.lots.get(lot_id), lot_facts(lot_id, standing=standing)
        )
    for batch_id, counts in followed.batches.items():
        kept = stored.batches.get(batch_id)
        yield from _unlike(batches[batch_id], kept, batch_facts(batch_id, counts=counts))


def _unlike(
    record: str, stored: Mapping[str, Any] | None, expected: Mapping[str, Any]
) -> Iterator[tuple[str, str]]:
    if stored is None:
        yield record, "Its sums after rooting are missing."
        return
    for field, value in expected.items():
        if stored[field] != value:
            words = ["nothing" if one in {None, ""} else str(one) for one in (stored[field], value)]
            yield record, f"{field} after rooting is {words[0]}; its stages give {words[1]}."
