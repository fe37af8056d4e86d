"""Counting a batch that is due, now and then with a mistake that is put right."""

from dataclasses import replace
from datetime import date, datetime
from typing import Final

from sqlalchemy.orm import Session

from app.domain.check_entries import CheckEntry
from app.domain.outcomes import CheckKind, Ending
from app.domain.people import Actor
from app.domain.typed_counts import RootedAs
from app.services.checks import RecordedCheck, correct_check, record_check, withdraw_check
from seed_demo.batches import TellingBatch
from seed_demo.desk import Desk, instant
from seed_demo.entries import Found, count_entry, missing_entry, sample_entry
from seed_demo.places import HEAD

RESTUCK: Final = "re-stuck"
_MISSING_SHARE: Final = 0.05
_MISCOUNTED_SHARE: Final = 0.025
_WITHDRAWN_SHARE: Final = 0.006
_FEW: Final = 8
_WORTH_RESTICKING: Final = 24
_SLOW_WEEKS: Final = 8
_REASONS: Final = (
    "left a tray out",
    "two lines of the note taken for one",
    "numbers swapped",
    "counted again with the head",
)


def count_batch(session: Session, desk: Desk, batch: TellingBatch, *, day: date) -> int:
    """Count a batch in full; return how many of it are to be stuck again, usually none."""
    dice, found = batch.dice, batch.find(day)
    actor = desk.checker(dice)
    ending = batch.ending(day, found)
    entry = count_entry(
        batch.planned,
        day=day,
        found=found,
        first=batch.counts == 0,
        ending=ending,
        checked_by_id=actor.person_id,
        dice=dice,
    )
    again = _worth_resticking(batch, found, ending)
    if again:
        entry = replace(entry, ending_cause=RESTUCK)
    missing = 0
    if ending is Ending.NONE and found.left > _FEW and dice.random() < _MISSING_SHARE:
        missing = dice.randint(1, 4)
        entry = missing_entry(entry, found=found, missing=missing)
    at = instant(day, 10 + dice.randrange(5), dice.randrange(60))
    recorded = _record(session, desk, batch, entry=entry, found=found, actor=actor, at=at)
    batch.keep(found, missing=missing)
    batch.next_count_on, batch.open = recorded.facts.next_count_on, bool(recorded.facts.open)
    return again


def sample_batch(session: Session, desk: Desk, batch: TellingBatch, *, day: date) -> None:
    """Pull ten out and look, if this batch is one of those where somebody does."""
    actor = desk.checker(batch.dice)
    entry = sample_entry(
        batch.planned,
        day=day,
        unrooted=batch.left - batch.find(day).rooted,
        left=batch.left,
        checked_by_id=actor.person_id,
        dice=batch.dice,
    )
    at = instant(day, 14, batch.dice.randrange(60))
    record_check(session, actor=actor, today=day, now=at, batch_id=batch.batch_id, entry=entry)


def _worth_resticking(batch: TellingBatch, found: Found, ending: Ending) -> int:
    slow = batch.planned.habit.weeks >= _SLOW_WEEKS and batch.planned.habit.container != "Lined out"
    wanted = ending is Ending.CLEARED_UNROOTED and slow and found.left >= _WORTH_RESTICKING
    return found.left if wanted else 0


def _record(
    session: Session,
    desk: Desk,
    batch: TellingBatch,
    *,
    entry: CheckEntry,
    found: Found,
    actor: Actor,
    at: datetime,
) -> RecordedCheck:
    luck, dice, day = batch.dice.random(), batch.dice, entry.checked_on
    wrong = entry
    plain = entry.ending is Ending.NONE and entry.missing_confirmed is None
    if luck < _MISCOUNTED_SHARE and plain and found.rooted > _FEW:
        short = dice.randint(1, found.rooted // 3)
        wrong = replace(entry, rooted=found.rooted - short, typed_as=RootedAs.NEW)
    recorded = record_check(
        session, actor=actor, today=day, now=at, batch_id=batch.batch_id, entry=wrong
    )
    if wrong is not entry:
        return correct_check(
            session,
            actor=actor,
            today=day,
            now=instant(day, 16, dice.randrange(60)),
            check_id=recorded.check_id,
            version=recorded.version,
            entry=entry,
            reason=dice.choice(_REASONS),
        )
    if luck > 1 - _WITHDRAWN_SHARE and plain:
        _look_at_the_wrong_batch(session, desk, batch, day=day, actor=actor)
    return recorded


def _look_at_the_wrong_batch(
    session: Session, desk: Desk, batch: TellingBatch, *, day: date, actor: Actor
) -> None:
    """Log a look that belongs to another batch, and withdraw it."""
    entry = CheckEntry(checked_on=day, kind=CheckKind.LOOKED_ONLY, note="wants water")
    minute = batch.dice.randrange(60)
    looked = record_check(
        session,
        actor=actor,
        today=day,
        now=instant(day, 15, minute),
        batch_id=batch.batch_id,
        entry=entry,
    )
    withdraw_check(
        session,
        actor=desk.actors[HEAD.name],
        now=instant(day, 17, minute),
        check_id=looked.check_id,
        version=looked.version,
        reason="meant the batch beside it",
    )
