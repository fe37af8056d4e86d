"""What pages of liners share: a form with its choices, stages as a story, what is saved."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from flask import url_for

from app.clock import local_date
from app.domain.liner_stages import AfterRootingCounts, StagesDoNotAddUp, follow_stages, stage_words
from app.services.liner_lots import StagesMade
from app.services.liner_stages import may_change_stage
from app.store.queries.batch_choices import list_batch_choices
from app.store.queries.liner_families import read_family
from app.store.queries.liner_lots import (
    KnownLot,
    KnownStage,
    after_rooting_by_batch,
    list_lots_of_batch,
    list_stages,
)
from app.store.queries.lost_causes import list_lost_causes
from app.web.batch_filling import typed_day
from app.web.forms.liner_lots import StageForm
from app.web.requests import actor, db, nursery, today
from app.web.results import Saved


@dataclass(frozen=True, kw_only=True)
class ToldStage:
    """A stage as one line of a story; `left` stood there after it, None where that is not told."""

    stage: KnownStage
    words: str
    left: int | None
    may_change: bool


def stage_form(
    starting: Mapping[str, Any] | None = None, *, lots: tuple[KnownLot, ...] = ()
) -> StageForm:
    """Return the form of a stage with everything it offers, today's day filled in."""
    usual = {"on": typed_day(today()), "by": str(actor().person_id)}
    form = StageForm(data=usual | dict(starting or {}))
    form.offer(choices=list_batch_choices(db()), causes=list_lost_causes(db()), lots=lots)
    return form


def told_stages(
    stages: Sequence[KnownStage], *, batch_id: int | None = None, lot_id: int | None = None
) -> list[ToldStage]:
    """Return the stages of a batch or a lot as the lines of its story."""
    left = _left(batch_id=batch_id, lot_id=lot_id)
    return [
        ToldStage(
            stage=stage,
            words=words_of_stage(stage),
            left=None if stage.withdrawn else left.get(stage.id),
            may_change=not stage.withdrawn and _may_change(stage),
        )
        for stage in stages
    ]


def words_of_stage(stage: KnownStage) -> str:
    """Return what happened in words, with the cause, grade or container."""
    more = ", ".join(filter(None, (stage.cause or stage.grade, stage.container, stage.mix_lot)))
    return stage_words(stage.stage, number=stage.number, into=stage.into, more=more)


@dataclass(frozen=True, kw_only=True)
class AfterRooting:
    """What the page of a batch tells of the time after rooting; `left` are not potted up."""

    counts: AfterRootingCounts
    left: int
    told: list[ToldStage]
    lots: tuple[KnownLot, ...]


def after_rooting(batch_id: int, *, rooted: int) -> AfterRooting:
    """Return what became of a batch's rooted ones so far."""
    found = after_rooting_by_batch(db(), batch_ids=[batch_id])
    counts = found.get(batch_id, AfterRootingCounts())
    return AfterRooting(
        counts=counts,
        left=rooted - counts.taken,
        told=told_stages(list_stages(db(), batch_id=batch_id), batch_id=batch_id),
        lots=list_lots_of_batch(db(), batch_id=batch_id),
    )


def saved_stages(made: StagesMade, *, message: str) -> Saved:
    """Return what the page says after a stage of a lot, with the way back."""
    return Saved(
        location=url_for("liner_lots.show", code=made.lot_code),
        message=message,
        undo=url_for("liner_stages.undo", ids="-".join(str(one) for one in made.stage_ids)),
    )


def _left(*, batch_id: int | None, lot_id: int | None) -> Mapping[int, int]:
    family = read_family(
        db(),
        batch_ids=[] if batch_id is None else [batch_id],
        lot_ids=[] if lot_id is None else [lot_id],
    )
    try:
        followed = follow_stages(family.events, lots=family.lots, rooted=family.rooted)
    except StagesDoNotAddUp:
        # The log was changed behind the program's back; `strikewell verify` says where.
        return {}
    into = {event.id: event.number for event in family.events if event.into_id == lot_id}
    return {**followed.left, **(_gathered(into) if lot_id is not None else {})}


def _gathered(into: Mapping[int, int]) -> dict[int, int]:
    """Return how many stood in a lot after each stage that led into it, one after the other."""
    total, found = 0, {}
    for event_id, number in into.items():
        total += number
        found[event_id] = total
    return found


def _may_change(stage: KnownStage) -> bool:
    made_on = local_date(stage.made_at, zone=nursery().zone) if stage.made_at else None
    return may_change_stage(
        actor(), recorded_by_id=stage.recorded_by_id, made_on=made_on, today=today()
    )
