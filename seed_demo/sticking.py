"""Sticking the batches of a day, now and then with a mistake that is put right."""

from dataclasses import replace
from datetime import date
from math import ceil
from random import Random
from typing import Final

from sqlalchemy import select
from sqlalchemy.orm import Session

from app.domain.batches import BatchEntry
from app.services.batches import correct_batch, stick_batch, void_batch
from app.store.models.batches import BatchFacts
from seed_demo.batches import TellingBatch
from seed_demo.calendar import Planned
from seed_demo.desk import Desk, instant
from seed_demo.entries import batch_entry
from seed_demo.nature import draw_fate
from seed_demo.places import HEAD

_TRAY_SHORT_SHARE: Final = 0.015
_TWICE_SHARE: Final = 0.007
_AGAIN_SHIFT: Final = 0.8


def stick_planned(
    session: Session,
    desk: Desk,
    planned: Planned,
    *,
    minute: int,
    restuck_from_id: int | None = None,
) -> TellingBatch:
    """Stick a batch and return it to be told on."""
    dice = Random(f"{desk.seed}/{planned.key}/told")
    if (planned.habit.name, planned.row) in desk.out_of_use:
        planned = replace(planned, row=0)
    entry = replace(
        batch_entry(planned, known=desk.known, dice=dice), restuck_from_id=restuck_from_id
    )
    luck = dice.random()
    if luck < _TRAY_SHORT_SHARE and planned.trays > 1 and entry.per_tray:
        batch_id = _stick_short(session, desk, planned, entry=entry, minute=minute)
    else:
        batch_id = _stick(session, desk, planned, entry=entry, minute=minute)
    if luck > 1 - _TWICE_SHARE:
        _enter_twice(session, desk, planned, entry=entry, minute=minute)
    batch = TellingBatch(planned, batch_id=batch_id, dice=dice)
    batch.next_count_on = session.scalars(
        select(BatchFacts.next_count_on).where(BatchFacts.batch_id == batch_id)
    ).one()
    return batch


def _stick(
    session: Session, desk: Desk, planned: Planned, *, entry: BatchEntry, minute: int
) -> int:
    day = planned.stuck_on
    return stick_batch(
        session,
        actor=desk.writer(planned.by),
        today=day,
        now=instant(day, 9 + minute // 20, minute % 20 * 3),
        entry=entry,
    ).id


def _stick_short(
    session: Session, desk: Desk, planned: Planned, *, entry: BatchEntry, minute: int
) -> int:
    """Enter a batch with one tray too few, and put it right in the afternoon."""
    short = replace(
        entry,
        trays=planned.trays - 1,
        stuck=entry.stuck - (entry.per_tray or 0),
        taken=None,
        sources=tuple(replace(line, number=None) for line in entry.sources),
    )
    batch_id = _stick(session, desk, planned, entry=short, minute=minute)
    correct_batch(
        session,
        actor=desk.writer(planned.by),
        today=planned.stuck_on,
        now=instant(planned.stuck_on, 16, minute),
        batch_id=batch_id,
        version=1,
        entry=entry,
        reason="one tray not entered",
    )
    return batch_id


def _enter_twice(
    session: Session, desk: Desk, planned: Planned, *, entry: BatchEntry, minute: int
) -> None:
    day = planned.stuck_on
    twice = _stick(session, desk, planned, entry=entry, minute=minute + 1)
    void_batch(
        session,
        actor=desk.actors[HEAD.name],
        today=day,
        now=instant(day, 17, minute),
        batch_id=twice,
        reason="entered twice",
    )


def planned_again(batch: TellingBatch, *, day: date, left: int) -> Planned:
    """Return the batch that is made of what was left callused but unrooted of another one."""
    planned = batch.planned
    per_tray = (planned.stuck + planned.gaps) // planned.trays
    trays = ceil(left / per_tray)
    fate = draw_fate(
        batch.dice,
        stuck=left,
        rate=planned.habit.rate * _AGAIN_SHIFT,
        weeks=planned.habit.weeks * _AGAIN_SHIFT,
        lost_to=planned.habit.lost_to,
    )
    return replace(
        planned,
        stuck_on=day,
        trays=trays,
        gaps=trays * per_tray - left,
        stuck=left,
        fate=fate,
        key=f"{planned.key}/again",
    )
