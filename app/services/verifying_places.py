"""Looking over where things stand and what was done there: what does not agree, in sentences.

Liner lots are looked over with it.
"""

from collections.abc import Iterator

from sqlalchemy.orm import Session

from app.domain.bench_stays import stay_faults
from app.domain.codes import treatment_code
from app.services.verifying_liners import liner_faults
from app.services.verifying_practicals import practical_faults
from app.store.queries.round_sheets import list_foreign_sheet_lines
from app.store.queries.verifying_places import (
    ReentryRest,
    iterate_batch_stays,
    iterate_lot_stays,
    iterate_reentries,
    iterate_stock_plant_stays,
    iterate_treatments,
    list_unlike_lot_mixes,
)


def place_faults(session: Session) -> Iterator[tuple[str, str]]:
    """Yield (record, sentence) for every stay, treatment, mix or liner lot that does not agree."""
    for kind, records in (
        ("batch", iterate_batch_stays(session)),
        ("stock plant", iterate_stock_plant_stays(session)),
        ("liner lot", iterate_lot_stays(session)),
    ):
        for one in records:
            for sentence in stay_faults(one.stays, trays=one.trays):
                yield f"{kind} {one.code}", sentence
    yield from liner_faults(session)
    yield from _treatment_faults(session)
    yield from practical_faults(session)
    for number, position in list_foreign_sheet_lines(session):
        yield f"round sheet {number}, line {position}", "Its check is of another batch."
    for rest in iterate_reentries(session):
        yield from _reentry_faults(rest)
    for batch, lot in list_unlike_lot_mixes(session):
        yield f"batch {batch}", f"Its recipe is not the one that mix lot {lot} was made up by."


def _treatment_faults(session: Session) -> Iterator[tuple[str, str]]:
    for treatment in iterate_treatments(session):
        record = f"treatment {treatment_code(treatment.number)}"
        # A nursery's day is that of the instant, or the one before or after it.
        if abs((treatment.begun_at.date() - treatment.begun_on).days) > 1:
            yield record, f"Its day is {treatment.begun_on}; its time gives another."
        if treatment.withdrawn and treatment.holding:
            yield record, f"It is withdrawn, but still holds {treatment.holding} stock plants back."


def _reentry_faults(rest: ReentryRest) -> Iterator[tuple[str, str]]:
    known = [at for at in (rest.own_at, rest.treated_until) if at is not None]
    expected = max(known, default=None)
    if rest.set_at != expected:
        sentence = f"Its re-entry time was set to {rest.set_at}; its treatments give {expected}."
        yield f"stock plant {rest.code}", sentence
