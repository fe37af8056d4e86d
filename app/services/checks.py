"""Checks of a batch: recording, correcting with a reason, withdrawing, undoing.

A check is never edited in place: whatever changes it adds a version. After every change the
batch's checks are tallied again, so that its counts always add up.
"""

from dataclasses import dataclass, replace
from datetime import date, datetime

from sqlalchemy import select, update
from sqlalchemy.orm import Session

from app.domain.check_entries import LONGEST_REASON, CheckEntry, accepted_entry, counts_of
from app.domain.outcomes import CheckCounts, Standing, standing_before, tally, tally_with
from app.domain.people import Actor
from app.domain.permissions import Permission, allowed
from app.domain.problems import (
    ChangedMeanwhile,
    FieldChange,
    NotAccepted,
    NotAllowed,
    NotFound,
)
from app.services.batch_facts import Facts, lower_ending, refresh_facts
from app.services.check_versions import (
    CheckContent,
    VersionMark,
    add_check,
    change_check,
    content_of,
    correction_mark,
    counts_but,
    next_running,
    stored_content,
    told_plainly,
)
from app.services.corrections import in_words
from app.services.history import differences, record_change
from app.services.lost_causes import cause_ids
from app.store.models.batches import Batch
from app.store.models.people import Person
from app.store.queries.checks import StoredCheck, counts_by_batch, get_check, list_check_versions

_NOT_YOURS = "This check was recorded by somebody else. Ask the head propagator to correct it."


@dataclass(frozen=True, kw_only=True)
class RecordedCheck:
    """A check that was written down, and where its batch stands now."""

    check_id: int
    batch_id: int
    batch_code: str
    version: int
    counts: CheckCounts
    facts: Facts


@dataclass(frozen=True, kw_only=True)
class CheckedBatch:
    """What a check needs to know of its batch."""

    id: int
    code: str
    stuck: int
    stuck_on: date


def record_check(
    session: Session,
    *,
    actor: Actor,
    today: date,
    now: datetime,
    batch_id: int,
    entry: CheckEntry,
) -> RecordedCheck:
    """Write down a check of a batch and return it with where the batch stands now.

    Raises:
        NotAccepted: the numbers cannot be true, or a later check would no longer add up.
        MissingAsked: the unrooted were counted short and nobody confirmed it yet.
        NotFound: there is no such batch.
    """
    batch = _open_batch(session, batch_id)
    entry = _accepted(session, entry, batch=batch, actor=actor)
    others = counts_by_batch(session, batch_ids=[batch_id]).get(batch_id, ())
    _refuse_cleared(batch, others=others, checked_on=entry.checked_on)
    running = next_running(session, batch_id=batch_id, checked_on=entry.checked_on)
    counts, standing = _counted(batch, entry, others=others, running=running, today=today)
    lower_ending(session, batch_id=batch_id, ended=standing.ended)
    check_id = add_check(
        session,
        batch_id=batch_id,
        content=content_of(entry, counts=counts, ended=_gone_with(counts, standing)),
        mark=VersionMark(number=1, recorded_at=now, recorded_by_id=actor.person_id),
    )
    subject = check_subject(batch.code, counts=counts)
    record_change(session, actor=actor, now=now, what="check recorded", subject=subject, change={})
    facts = _refreshed(session, batch, entry=entry)
    return _recorded(check_id, batch, version=1, counts=counts, facts=facts)


def correct_check(
    session: Session,
    *,
    actor: Actor,
    today: date,
    now: datetime,
    check_id: int,
    version: int,
    entry: CheckEntry,
    reason: str,
) -> RecordedCheck:
    """Write down a newer version of a check and return where its batch stands now.

    Raises:
        NotAccepted: there is no reason, the numbers cannot be true, or a later check would no
            longer add up.
        NotAllowed: it is somebody else's check and the actor corrects only own ones.
        ChangedMeanwhile: somebody else saved it after `version` was read.
        NotFound: there is no such check.
    """
    stored = get_check(session, check_id=check_id)
    refuse_foreign(stored, actor=actor)
    batch = _open_batch(session, stored.batch_id)
    entry = _accepted(session, entry, batch=batch, actor=actor)
    others = _others(session, stored)
    running = _running_on(session, stored, checked_on=entry.checked_on)
    counts, standing = _counted(batch, entry, others=others, running=running, today=today)
    content = content_of(entry, counts=counts, ended=_gone_with(counts, standing))
    content = replace(content, walk_key=stored.walk_key)
    _refuse_stale(session, stored, version=version, content=content)
    lower_ending(session, batch_id=batch.id, ended=standing.ended)
    _change(session, stored, content=content, actor=actor, now=now, reason=accepted_reason(reason))
    facts = _refreshed(session, batch, entry=entry)
    return _recorded(check_id, batch, version=stored.version + 1, counts=counts, facts=facts)


def withdraw_check(
    session: Session,
    *,
    actor: Actor,
    now: datetime,
    check_id: int,
    version: int,
    reason: str,
) -> RecordedCheck:
    """Take a check out of the counts, keeping it readable, and return where its batch stands now.

    Raises:
        NotAccepted: there is no reason, or it is withdrawn already.
        NotAllowed, ChangedMeanwhile, NotFound: as `correct_check`.
    """
    stored = get_check(session, check_id=check_id)
    refuse_foreign(stored, actor=actor)
    batch = _open_batch(session, stored.batch_id)
    if stored.version != version:
        raise ChangedMeanwhile(version=stored.version)
    if stored.counts.withdrawn:
        raise NotAccepted.at("", "This check is withdrawn already.")
    content = stored_content(stored)
    counts = replace(content.counts, withdrawn=True)
    content = replace(content, counts=counts, ended=0 if counts.ending else content.ended)
    _change(session, stored, content=content, actor=actor, now=now, reason=accepted_reason(reason))
    facts = refresh_facts(session, batch_id=batch.id)
    return _recorded(check_id, batch, version=stored.version + 1, counts=counts, facts=facts)


def undo_check(
    session: Session, *, actor: Actor, now: datetime, check_id: int, version: int
) -> RecordedCheck:
    """Take back the newest version of a check: a recording is withdrawn, a correction reversed.

    Raises:
        NotAccepted: the version is no longer the newest, or what was there before no longer adds
            up with the other checks.
        NotAllowed: somebody else saved that version.
        NotFound: there is no such check.
    """
    versions = list_check_versions(session, check_id=check_id)
    if not versions:
        raise NotFound("There is no such check.")
    newest = versions[0]
    if newest.recorded_by_id != actor.person_id:
        raise NotAllowed("Only who saved it can undo it. Correct the check instead.")
    if newest.version != version:
        raise NotAccepted.at("", "This check was changed since. Open it and correct it instead.")
    if len(versions) == 1:
        return withdraw_check(
            session, actor=actor, now=now, check_id=check_id, version=version, reason="undone"
        )
    return _put_back(session, newest, earlier=versions[1], actor=actor, now=now)


def refuse_foreign(stored: StoredCheck, *, actor: Actor) -> None:
    """Refuse whoever may correct only own checks where this is somebody else's.

    Raises:
        NotAllowed: it is.
    """
    if not may_correct(stored, actor=actor):
        raise NotAllowed(_NOT_YOURS)


def may_correct(stored: StoredCheck, *, actor: Actor) -> bool:
    """Return whether the actor may correct or withdraw this check."""
    own = stored.first_recorded_by_id == actor.person_id
    return allowed(actor.role, Permission.CORRECT_ANY) or (
        own and allowed(actor.role, Permission.CORRECT_OWN)
    )


def accepted_reason(reason: str) -> str:
    """Return a reason without blanks round it.

    Raises:
        NotAccepted: it is blank or too long.
    """
    tidy = " ".join(reason.split())
    if not tidy:
        raise NotAccepted.at("reason", "Say in a few words why, such as miscounted a tray.")
    if len(tidy) > LONGEST_REASON:
        raise NotAccepted.at("reason", f"Keep the reason within {LONGEST_REASON} letters.")
    return tidy


def check_subject(batch_code: str, *, counts: CheckCounts) -> str:
    """Return how history names a check: by batch, day and number of the day."""
    return f"batch {batch_code}, check of {counts.checked_on.isoformat()} no. {counts.running}"


def _open_batch(session: Session, batch_id: int) -> CheckedBatch:
    query = select(Batch.id, Batch.code, Batch.stuck, Batch.stuck_on, Batch.voided_at)
    row = session.execute(query.where(Batch.id == batch_id)).one_or_none()
    if row is None:
        raise NotFound("There is no such batch.")
    if row.voided_at is not None:
        sentence = f"Batch {row.code} was entered by mistake and counts nowhere: nothing to check."
        raise NotAccepted.at("", sentence)
    return CheckedBatch(id=row.id, code=row.code, stuck=row.stuck, stuck_on=row.stuck_on)


def _accepted(
    session: Session, entry: CheckEntry, *, batch: CheckedBatch, actor: Actor
) -> CheckEntry:
    entry = accepted_entry(entry)
    cause_ids(session, names=[loss.cause for loss in entry.lost])
    if entry.restuck_into_id == batch.id:
        sentence = "Name the batch they went into, not this one."
        raise NotAccepted.at("restuck_into", sentence)
    _refuse_other_origin(session, entry.restuck_into_id, batch=batch)
    if entry.checked_by_id and session.get(Person, entry.checked_by_id) is None:
        raise NotAccepted.at("checked_by", "Choose somebody from the list.")
    return entry if entry.checked_by_id else replace(entry, checked_by_id=actor.person_id)


def _refuse_other_origin(session: Session, into_id: int | None, *, batch: CheckedBatch) -> None:
    into = session.get(Batch, into_id) if into_id is not None else None
    if into is not None and into.restuck_from_id != batch.id:
        sentence = (
            f"{into.code} does not say that it was re-stuck from {batch.code}. Correct {into.code} "
            "to say so, or stick them again from the page of this batch."
        )
        raise NotAccepted.at("restuck_into", sentence)


def _others(session: Session, stored: StoredCheck) -> tuple[CheckCounts, ...]:
    counts = counts_by_batch(session, batch_ids=[stored.batch_id]).get(stored.batch_id, ())
    return counts_but(counts, stored=stored)


def _running_on(session: Session, stored: StoredCheck, *, checked_on: date) -> int:
    if checked_on == stored.counts.checked_on:
        return stored.counts.running
    return next_running(session, batch_id=stored.batch_id, checked_on=checked_on)


def _refuse_cleared(
    batch: CheckedBatch, *, others: tuple[CheckCounts, ...], checked_on: date
) -> None:
    earlier = [check for check in others if check.checked_on <= checked_on]
    standing = tally(earlier, stuck=batch.stuck, stuck_on=batch.stuck_on)
    if standing.unrooted == 0 and not standing.ending:
        gone = "rooted, lost or re-stuck" if standing.restuck else "rooted or lost"
        sentence = (
            f"All {batch.stuck:,} of {batch.code} were {gone} by then: nothing is left to check. "
            "If that is not so, correct the check that says it."
        )
        raise NotAccepted.at("checked_on", sentence)


def _counted(
    batch: CheckedBatch,
    entry: CheckEntry,
    *,
    others: tuple[CheckCounts, ...],
    running: int,
    today: date,
) -> tuple[CheckCounts, Standing]:
    before = standing_before(
        others,
        checked_on=entry.checked_on,
        running=running,
        stuck=batch.stuck,
        stuck_on=batch.stuck_on,
    )
    counts = counts_of(entry, before=before, running=running)
    standing = tally_with(
        counts, others=others, stuck=batch.stuck, stuck_on=batch.stuck_on, today=today
    )
    return counts, standing


def _gone_with(counts: CheckCounts, standing: Standing) -> int:
    return standing.ended if counts.ending else 0


def _refreshed(session: Session, batch: CheckedBatch, *, entry: CheckEntry) -> Facts:
    facts = refresh_facts(session, batch_id=batch.id)
    if entry.ending:
        # Belongs to the ending, which follows from the checks: no edit of the batch's own.
        session.execute(
            update(Batch.__table__)  # type: ignore[arg-type]
            .where(Batch.id == batch.id)
            .values(ending_cause=entry.ending_cause)
        )
    return facts


def _recorded(
    check_id: int, batch: CheckedBatch, *, version: int, counts: CheckCounts, facts: Facts
) -> RecordedCheck:
    return RecordedCheck(
        check_id=check_id,
        batch_id=batch.id,
        batch_code=batch.code,
        version=version,
        counts=counts,
        facts=facts,
    )


def _refuse_stale(
    session: Session, stored: StoredCheck, *, version: int, content: CheckContent
) -> None:
    if stored.version == version:
        return
    now = told_plainly(session, content=stored_content(stored))
    wanted = told_plainly(session, content=content)
    changes = tuple(
        FieldChange(
            field=field.replace("_", " "), now=in_words(value), wanted=in_words(wanted[field])
        )
        for field, value in now.items()
        if wanted[field] != value and field != "checked_by"
    )
    raise ChangedMeanwhile(version=stored.version, changes=changes)


def _put_back(
    session: Session, newest: StoredCheck, *, earlier: StoredCheck, actor: Actor, now: datetime
) -> RecordedCheck:
    """Write the version before the newest one down again, if it still adds up."""
    batch = _open_batch(session, newest.batch_id)
    running = _running_on(session, newest, checked_on=earlier.counts.checked_on)
    counts = replace(earlier.counts, running=running)
    others = _others(session, newest)
    standing = tally((*others, counts), stuck=batch.stuck, stuck_on=batch.stuck_on)
    ended = _gone_with(counts, standing)
    content = replace(stored_content(earlier), counts=counts, ended=ended)
    lower_ending(session, batch_id=batch.id, ended=standing.ended)
    _change(session, newest, content=content, actor=actor, now=now, reason="undone")
    facts = refresh_facts(session, batch_id=batch.id)
    return _recorded(newest.id, batch, version=newest.version + 1, counts=counts, facts=facts)


def _change(
    session: Session,
    stored: StoredCheck,
    *,
    content: CheckContent,
    actor: Actor,
    now: datetime,
    reason: str,
) -> None:
    before = told_plainly(session, content=stored_content(stored))
    changes = differences(before, after=told_plainly(session, content=content))
    mark = correction_mark(stored, now=now, recorded_by_id=actor.person_id, reason=reason)
    change_check(session, check_id=stored.id, content=content, mark=mark)
    what = "check withdrawn" if content.counts.withdrawn else "check corrected"
    subject = check_subject(stored.batch_code, counts=stored.counts)
    changes["reason"] = ["", reason]
    record_change(session, actor=actor, now=now, what=what, subject=subject, change=changes)
