"""Sticking a batch, correcting one, voiding one and taking that back."""

from dataclasses import dataclass
from datetime import date, datetime

from sqlalchemy import delete, func, select
from sqlalchemy.orm import Session
from sqlalchemy.orm.attributes import flag_modified

from app.domain.batch_rights import refuse_foreign_batch
from app.domain.batches import BatchEntry
from app.domain.codes import batch_code
from app.domain.days import day_long
from app.domain.outcomes import CheckKind, DoesNotAddUp, tally
from app.domain.people import Actor
from app.domain.problems import ChangedMeanwhile, FieldChange, NotAccepted, NotFound
from app.services.batch_facts import lower_ending, refresh_facts
from app.services.batch_rows import batch_columns, fitting_entry, taken_by, write_sources
from app.services.batch_ways import write_details
from app.services.bench_stays import begin_stay, correct_first_stay, refuse_too_few_trays
from app.services.corrections import in_words
from app.services.history import JsonValue, differences, record_change
from app.services.liner_stages import refuse_other_plant, refuse_void
from app.services.restuck import Taken, make_room, note_taken, nothing, refuse_named_elsewhere
from app.store.models.batches import Batch, BatchSource
from app.store.queries.batch_entries import get_batch_entry
from app.store.queries.batch_words import entry_words
from app.store.queries.checks import counts_by_batch


@dataclass(frozen=True, kw_only=True)
class StuckBatch:
    """A batch as the program knows it from now on."""

    id: int
    code: str


def stick_batch(
    session: Session, *, actor: Actor, today: date, now: datetime, entry: BatchEntry
) -> StuckBatch:
    """Log a batch, give it its code and return both.

    The code is the next number of the year of sticking; a number is never given twice.

    Raises:
        NotAccepted: a rule does not hold, or a source may not be cut.
    """
    entry = fitting_entry(session, entry=entry, actor=actor, today=today, now=now)
    year = entry.stuck_on.year
    newest = session.scalar(select(func.max(Batch.number)).where(Batch.year == year)) or 0
    row = Batch(
        **batch_columns(session, entry=entry),
        year=year,
        number=newest + 1,
        code=batch_code(year=year, number=newest + 1),
        made_at=now,
        recorded_by_id=actor.person_id,
    )
    session.add(row)
    session.flush()
    write_sources(session, batch_id=row.id, entry=entry)
    write_details(session, batch_id=row.id, details=entry.details)
    begin_stay(session, batch_id=row.id, bench_id=entry.bench_id, from_on=entry.stuck_on)
    refresh_facts(session, batch_id=row.id)
    _write(session, actor=actor, now=now, what="batch stuck", row=row, change=_reasons(entry))
    taken = taken_by(entry)
    note_taken(session, actor=actor, now=now, code=row.code, before=nothing(taken), after=taken)
    return StuckBatch(id=row.id, code=row.code)


def correct_batch(
    session: Session,
    *,
    actor: Actor,
    today: date,
    now: datetime,
    batch_id: int,
    version: int,
    entry: BatchEntry,
    reason: str = "",
) -> None:
    """Put right what was entered of a batch; its code stays, its checks must still add up.

    Raises:
        NotAccepted: a rule does not hold, the checks so far do not fit, or the batch is void.
        NotAllowed: it is somebody else's entry, or an own one of long ago.
        ChangedMeanwhile: somebody else saved it after `version` was read.
        NotFound: there is no such batch.
    """
    row = _row_to_change(session, batch_id, actor=actor, today=today)
    if row.voided_at is not None:
        raise NotAccepted.at("", f"{row.code} is void: reinstate it before you correct it.")
    stored = get_batch_entry(session, batch_id=batch_id)
    if row.version != version:
        changes = _both_versions(session, stored, entry)
        raise ChangedMeanwhile(version=row.version, changes=changes)
    entry = fitting_entry(
        session, entry=entry, actor=actor, today=today, now=now, stored=stored, batch_id=batch_id
    )
    before = entry_words(session, entry=stored, by_key=True)
    change = differences(before, after=entry_words(session, entry=entry, by_key=True))
    if change:
        change |= {"reason": [None, reason]} if reason else {}
        _put_right(session, row, actor=actor, now=now, stored=stored, entry=entry, change=change)


def void_batch(
    session: Session, *, actor: Actor, today: date, now: datetime, batch_id: int, reason: str
) -> None:
    """Take a batch that was entered by mistake out of every list and rate; it stays readable.

    Raises:
        NotAccepted: no reason is given, it is void already, or another batch leans on it.
        NotAllowed: it is somebody else's entry, or an own one of long ago.
        NotFound: there is no such batch.
    """
    row = _row_to_change(session, batch_id, actor=actor, today=today)
    if row.voided_at is not None:
        raise NotAccepted.at("reason", f"{row.code} is void already.")
    if not reason.strip():
        raise NotAccepted.at("reason", "Say why the batch is to be void, for whoever reads it.")
    child = session.scalar(
        select(Batch.code).where(Batch.restuck_from_id == batch_id, Batch.voided_at.is_(None))
    )
    if child:
        sentence = f"{child} was re-stuck from this batch: void or correct that one first."
        raise NotAccepted.at("reason", sentence)
    refuse_void(session, batch_id=batch_id)
    row.voided_at, row.voided_by_id, row.void_reason = now, actor.person_id, reason.strip()
    refresh_facts(session, batch_id=batch_id)
    change: dict[str, JsonValue] = {"void": [False, True], "reason": [None, row.void_reason]}
    _write(session, actor=actor, now=now, what="batch voided", row=row, change=change)
    taken = _taken(row)
    note_taken(session, actor=actor, now=now, code=row.code, before=taken, after=nothing(taken))


def reinstate_batch(
    session: Session, *, actor: Actor, today: date, now: datetime, batch_id: int
) -> None:
    """Let a void batch count again.

    Raises:
        NotAccepted: it is not void, or what it was re-stuck from no longer leaves so many.
        NotAllowed: it is somebody else's entry, or an own one of long ago.
        NotFound: there is no such batch.
    """
    row = _row_to_change(session, batch_id, actor=actor, today=today)
    if row.voided_at is None:
        raise NotAccepted.at("", f"{row.code} is not void.")
    taken = _taken(row)
    make_room(session, taken=taken, batch_id=batch_id)
    row.voided_at, row.voided_by_id, row.void_reason = None, None, ""
    refresh_facts(session, batch_id=batch_id)
    change: dict[str, JsonValue] = {"void": [True, False]}
    _write(session, actor=actor, now=now, what="batch reinstated", row=row, change=change)
    note_taken(session, actor=actor, now=now, code=row.code, before=nothing(taken), after=taken)


def _put_right(
    session: Session,
    row: Batch,
    *,
    actor: Actor,
    now: datetime,
    stored: BatchEntry,
    entry: BatchEntry,
    change: dict[str, JsonValue],
) -> None:
    if stored.restuck_from_id != entry.restuck_from_id:
        refuse_named_elsewhere(session, batch_id=row.id, from_id=entry.restuck_from_id)
    if stored.plant_name_id != entry.plant_name_id:
        refuse_other_plant(session, batch_id=row.id)
    _refuse_too_few_for_checks(session, row, entry)
    refuse_too_few_trays(session, batch_id=row.id, trays=entry.trays)
    _set(session, row, stored=stored, entry=entry)
    change |= _reasons(entry)
    _write(session, actor=actor, now=now, what="batch corrected", row=row, change=change)
    note_taken(
        session,
        actor=actor,
        now=now,
        code=row.code,
        before=taken_by(stored),
        after=taken_by(entry),
    )


def _taken(row: Batch) -> Taken:
    return Taken(from_id=row.restuck_from_id, on=row.stuck_on, number=row.stuck)


def _row_to_change(session: Session, batch_id: int, *, actor: Actor, today: date) -> Batch:
    row = session.get(Batch, batch_id)
    if row is None:
        raise NotFound("There is no such batch.")
    refuse_foreign_batch(
        actor, recorded_by_id=row.recorded_by_id, made_on=row.made_at.date(), today=today
    )
    return row


def _refuse_too_few_for_checks(session: Session, row: Batch, entry: BatchEntry) -> None:
    """Refuse numbers and days that the checks so far contradict; make room for the others."""
    checks = counts_by_batch(session, batch_ids=[row.id]).get(row.id, ())
    live = [check for check in checks if not check.withdrawn]
    first_on = min((check.checked_on for check in live), default=entry.stuck_on)
    if first_on < entry.stuck_on:
        first = min(live, key=lambda check: check.checked_on)
        what = "There is a check of" if first.is_check else "Some were re-stuck on"
        sentence = f"{what} {day_long(first_on)}: it cannot have been stuck after that."
        raise NotAccepted.at("stuck_on", sentence)
    try:
        standing = tally(checks, stuck=entry.stuck, stuck_on=entry.stuck_on)
    except DoesNotAddUp as refusal:
        counted = [check for check in live if check.kind is CheckKind.COUNTED]
        found = sum(check.rooted + check.lost_in_all for check in counted)
        moved = sum(check.restuck for check in live)
        again = f", and {moved:,} were re-stuck" if moved else ""
        sentence = (
            f"The checks so far found {found:,} rooted and lost{again}: at least so many were "
            "stuck. Correct the check first if that is what is wrong."
        )
        raise NotAccepted.at("stuck", sentence) from refusal
    lower_ending(session, batch_id=row.id, ended=standing.ended)


def _set(session: Session, row: Batch, *, stored: BatchEntry, entry: BatchEntry) -> None:
    for column, value in batch_columns(session, entry=entry).items():
        setattr(row, column, value)
    if (stored.sources, stored.details) != (entry.sources, entry.details):
        # They are part of the batch: their change counts up its version as any other does.
        flag_modified(row, "notes")
        write_details(session, batch_id=row.id, details=entry.details)
        session.execute(delete(BatchSource).where(BatchSource.batch_id == row.id))
        write_sources(session, batch_id=row.id, entry=entry)
    session.flush()
    if (stored.bench_id, stored.stuck_on) != (entry.bench_id, entry.stuck_on):
        correct_first_stay(
            session, batch_id=row.id, bench_id=entry.bench_id, from_on=entry.stuck_on
        )
    refresh_facts(session, batch_id=row.id)


def _reasons(entry: BatchEntry) -> dict[str, JsonValue]:
    """Return the head's reasons for what only the head may do, as the history keeps them."""
    reasons = {
        "reason for taking from a plant on hold": entry.hold_reason.strip(),
        "reason for sticking without a licence": entry.rights_reason.strip(),
    }
    return {what: [None, reason] for what, reason in reasons.items() if reason}


def _both_versions(
    session: Session, stored: BatchEntry, entry: BatchEntry
) -> tuple[FieldChange, ...]:
    now = entry_words(session, entry=stored, by_key=False)
    wanted = entry_words(session, entry=entry, by_key=False)
    return tuple(
        FieldChange(field=field, now=in_words(now[field]), wanted=in_words(value))
        for field, value in wanted.items()
        if value != now[field]
    )


def _write(
    session: Session,
    *,
    actor: Actor,
    now: datetime,
    what: str,
    row: Batch,
    change: dict[str, JsonValue],
) -> None:
    record_change(
        session, actor=actor, now=now, what=what, subject=f"batch {row.code}", change=change
    )
