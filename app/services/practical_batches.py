"""Batches of a practical session: one stuck for each who takes part, own ones added, taken off."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime
from typing import Final

from sqlalchemy.orm import Session

from app.domain.batches import BatchEntry
from app.domain.days import day_long
from app.domain.people import Actor
from app.domain.permissions import Permission, allowed
from app.domain.problems import NotAccepted, NotAllowed, NotFound, Problem
from app.services.batches import StuckBatch, stick_batch
from app.services.history import record_change
from app.store.models.batches import Batch
from app.store.models.practicals import PracticalBatch
from app.store.queries.batches import find_batch_id
from app.store.queries.practicals import KnownPractical, find_practical_of_batch, get_practical

_OF_EACH: Final = frozenset({"stuck", "trays", "per_tray", "gaps"})
"""What differs from person to person; all else is shared."""


@dataclass(frozen=True, kw_only=True)
class BatchOfPerson:
    """A batch that somebody stuck in the session; `place` is their line in the form."""

    person_id: int
    entry: BatchEntry
    place: int


def stick_for_people(
    session: Session,
    *,
    actor: Actor,
    today: date,
    now: datetime,
    code: str,
    wanted: Sequence[BatchOfPerson],
) -> tuple[StuckBatch, ...]:
    """Log a batch for each of these people, and return them in that order.

    Raises:
        NotAccepted: a rule does not hold for one of them, nobody is named or somebody who does
            not take part, or the session is cancelled or still ahead. Nothing may be kept then.
        NotFound: there is no such session.
    """
    known = get_practical(session, code=code)
    if not wanted:
        raise NotAccepted.at("", "Give a number for at least one of those who took part.")
    problems: dict[Problem, None] = {}
    stuck = []
    for each in wanted:
        if not known.takes_part(each.person_id):
            sentence = f"This person does not take part in {known.code}."
            raise NotAccepted.at(f"people-{each.place}-stuck", sentence)
        entry = replace(each.entry, stuck_by_id=each.person_id)
        _refuse_unfitting(known, stuck_on=entry.stuck_on, field="stuck_on")
        try:
            one = stick_batch(session, actor=actor, today=today, now=now, entry=entry)
        except NotAccepted as refusal:
            problems |= dict.fromkeys(of_person(refusal, place=each.place))
            continue
        _join(session, known, actor=actor, now=now, batch_id=one.id, batch=one.code)
        stuck.append(one)
    if problems:
        raise NotAccepted(tuple(problems))
    return tuple(stuck)


def of_person(refusal: NotAccepted, *, place: int) -> tuple[Problem, ...]:
    """Return the problems of one batch, those of its number beside the person's line."""
    return tuple(
        replace(problem, field=f"people-{place}-stuck") if problem.field in _OF_EACH else problem
        for problem in refusal.problems
    )


def add_to_practical(
    session: Session, *, actor: Actor, now: datetime, code: str, batch_code: str
) -> str:
    """Let a batch that is stuck already belong to a practical session, and return its code.

    Raises:
        NotAccepted: at "batch", there is none of this code, it is void, was stuck before the
            session, or belongs to one already; the session is cancelled.
        NotAllowed: it is somebody else's, or the person does not take part.
        NotFound: there is no such session.
    """
    known = get_practical(session, code=code)
    batch_id = find_batch_id(session, code=batch_code)
    batch = None if batch_id is None else session.get(Batch, batch_id)
    if batch is None:
        sentence = f"There is no batch {batch_code.strip() or 'without a code'}."
        raise NotAccepted.at("batch", sentence)
    refuse_foreign_member(actor, known=known, batch=batch)
    if batch.voided_at is not None:
        raise NotAccepted.at("batch", f"{batch.code} is void.")
    _refuse_unfitting(known, stuck_on=batch.stuck_on, field="batch")
    belongs = find_practical_of_batch(session, batch_id=batch.id)
    if belongs is not None:
        sentence = f"{batch.code} belongs to {belongs.code} already: take it off there first."
        raise NotAccepted.at("batch", sentence)
    _join(session, known, actor=actor, now=now, batch_id=batch.id, batch=batch.code)
    return batch.code


def take_off_practical(
    session: Session, *, actor: Actor, now: datetime, code: str, batch_code: str
) -> str:
    """Let a batch no longer belong to a practical session, and return its code.

    Raises:
        NotAllowed: it is somebody else's.
        NotFound: there is no such session, or the batch does not belong to it.
    """
    known = get_practical(session, code=code)
    batch_id = find_batch_id(session, code=batch_code)
    row = None if batch_id is None else session.get(PracticalBatch, batch_id)
    if row is None or row.practical_id != known.id:
        raise NotFound(f"{batch_code} does not belong to {known.code}.")
    batch = session.get_one(Batch, row.batch_id)
    refuse_foreign_member(actor, known=known, batch=batch)
    session.delete(row)
    session.flush()
    _changed(session, known, actor=actor, now=now, before=batch.code, after="")
    return batch.code


def refuse_foreign_member(actor: Actor, *, known: KnownPractical, batch: Batch) -> None:
    """Let pass whoever may say that a batch belongs to a session: a head, or whose batch it is.

    Raises:
        NotAllowed: this person may not; the words say whom to ask.
    """
    if allowed(actor.role, Permission.CORRECT_ANY):
        return
    own = actor.person_id in {batch.stuck_by_id, batch.recorded_by_id}
    if not own or not known.takes_part(actor.person_id):
        raise NotAllowed(
            "You can say this of your own batches, in a session you take part in. Ask the head "
            "propagator."
        )


def _refuse_unfitting(known: KnownPractical, *, stuck_on: date, field: str) -> None:
    if known.cancelled:
        raise NotAccepted.at("", f"{known.code} is cancelled: let it take place first.")
    if stuck_on < known.entry.held_on:
        sentence = (
            f"{known.code} is held on {day_long(known.entry.held_on)}: nothing of it can be stuck "
            "before. Correct its day if that is what is wrong."
        )
        raise NotAccepted.at(field, sentence)


def _join(
    session: Session,
    known: KnownPractical,
    *,
    actor: Actor,
    now: datetime,
    batch_id: int,
    batch: str,
) -> None:
    session.add(PracticalBatch(batch_id=batch_id, practical_id=known.id))
    session.flush()
    _changed(session, known, actor=actor, now=now, before="", after=batch)


def _changed(
    session: Session, known: KnownPractical, *, actor: Actor, now: datetime, before: str, after: str
) -> None:
    what = "batch belongs to it" if after else "batch no longer belongs to it"
    record_change(
        session,
        actor=actor,
        now=now,
        what=what,
        subject=f"practical session {known.code}",
        change={"batch": [before, after]},
    )
