"""Re-sticking: what a batch that was stuck again takes out of the one it stood in before.

The number is stored once, as what the new batch says was stuck. In the first batch it is cleared,
neither rooted nor failed; its facts are worked out afresh whenever the second one changes.
"""

from dataclasses import dataclass
from datetime import date, datetime
from typing import Final

from sqlalchemy import and_, select
from sqlalchemy.orm import Session

from app.domain.days import day_long
from app.domain.outcomes import CheckCounts, CheckKind, DoesNotAddUp, tally
from app.domain.people import Actor
from app.domain.problems import NotAccepted
from app.services.batch_facts import lower_ending, refresh_facts
from app.services.history import record_change
from app.store.models.batches import Batch
from app.store.models.checks import Check, CheckVersion
from app.store.queries.checks import counts_by_batch
from app.store.queries.restuck import restuck_by_batch

_FIELD: Final = "restuck_from"
# Of one day, what is re-stuck now comes after every check there is.
_AFTER_ALL: Final = 1_000_000


@dataclass(frozen=True, kw_only=True)
class Taken:
    """So many taken out of a batch on a day and stuck again; none from None."""

    from_id: int | None
    on: date
    number: int


def nothing(taken: Taken) -> Taken:
    """Return the same taking with nothing taken, as it was before or is once it was void."""
    return Taken(from_id=taken.from_id, on=taken.on, number=0)


def make_room(session: Session, *, taken: Taken, batch_id: int | None = None) -> None:
    """Refuse more than stood in the first batch; let no more have gone with its ending than then.

    To be called before the batch that takes them is stored; `batch_id` is that of a stored one,
    whose own taking so far does not stand in its way.

    Raises:
        NotAccepted: the first batch is void, was stuck later, or so many did not stand there.
    """
    if taken.from_id is None:
        return
    parent = session.get(Batch, taken.from_id)
    if parent is None or parent.id == batch_id:
        raise NotAccepted.at(_FIELD, "Name the batch these cuttings stood in before.")
    _refuse_unfit(parent, taken=taken)
    ids = [parent.id]
    checks = counts_by_batch(session, batch_ids=ids).get(parent.id, ())
    others = restuck_by_batch(session, batch_ids=ids, but_batch_id=batch_id).get(parent.id, ())
    moved = CheckCounts(
        checked_on=taken.on,
        running=_AFTER_ALL,
        kind=CheckKind.LOOKED_ONLY,
        restuck=taken.number,
    )
    kept = [check for check in checks if check.is_check]
    try:
        standing = tally([*kept, *others, moved], stuck=parent.stuck, stuck_on=parent.stuck_on)
    except DoesNotAddUp as refusal:
        raise _refused(refusal, parent=parent, taken=taken, moved=moved) from refusal
    lower_ending(session, batch_id=parent.id, ended=standing.ended)


def note_taken(
    session: Session, *, actor: Actor, now: datetime, code: str, before: Taken, after: Taken
) -> None:
    """Bring the batches that cuttings were taken from into step, and write their history lines.

    `code` is that of the batch that took them.
    """
    parents = {taken.from_id for taken in (before, after) if taken.from_id is not None}
    for parent_id in sorted(parents):
        numbers = [taken.number if taken.from_id == parent_id else 0 for taken in (before, after)]
        refresh_facts(session, batch_id=parent_id)
        if numbers[0] == numbers[1]:
            continue
        record_change(
            session,
            actor=actor,
            now=now,
            what="cuttings re-stuck",
            subject=f"batch {session.get_one(Batch, parent_id).code}",
            change={f"re-stuck as {code}": [*numbers]},
        )


def refuse_named_elsewhere(session: Session, *, batch_id: int, from_id: int | None) -> None:
    """Refuse that a batch comes from another one than a check says that re-stuck into it.

    Raises:
        NotAccepted: a check of another batch names it.
    """
    newest = and_(CheckVersion.check_id == Check.id, CheckVersion.number == Check.version)
    query = (
        select(Batch.code, Check.checked_on)
        .join_from(Check, CheckVersion, newest)
        .join(Batch, Batch.id == Check.batch_id)
        .where(
            CheckVersion.restuck_into_id == batch_id,
            Check.withdrawn == 0,
            Batch.voided_at.is_(None),
            Check.batch_id.is_distinct_from(from_id),
        )
    )
    found = session.execute(query).first()
    if found is not None:
        sentence = (
            f"The check of {found.code} on {day_long(found.checked_on)} says that its cuttings "
            "were re-stuck into this batch. Correct that check first."
        )
        raise NotAccepted.at(_FIELD, sentence)


def _refuse_unfit(parent: Batch, *, taken: Taken) -> None:
    sentence = ""
    if parent.voided_at is not None:
        sentence = f"{parent.code} is void: name another batch, or reinstate it first."
    elif parent.stuck_on > taken.on:
        sentence = f"{parent.code} was stuck later, on {day_long(parent.stuck_on)}."
    elif parent.stuck < taken.number:
        sentence = (
            f"Only {parent.stuck:,} were stuck in {parent.code}, so no more can come from it."
        )
    if sentence:
        raise NotAccepted.at(_FIELD, sentence)


def _refused(
    refusal: DoesNotAddUp, *, parent: Batch, taken: Taken, moved: CheckCounts
) -> NotAccepted:
    """Return the refusal as the form of the batch that takes them says it."""
    if refusal.check is moved:
        return NotAccepted.at(_FIELD, f"{parent.code}: {refusal}")
    later = day_long(refusal.check.checked_on)
    sentence = (
        f"With {taken.number:,} re-stuck from {parent.code} on {day_long(taken.on)} what was found "
        f"there on {later} would no longer add up. Correct the number or the day, or that check."
    )
    return NotAccepted.at(_FIELD, sentence)
