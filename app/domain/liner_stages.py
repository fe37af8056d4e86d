"""After rooting: what may happen to rooted cuttings, and how many are left after each stage.

Stages are events in the order of their days. From a batch, rooted ones are potted up into a lot or
lost while they are weaned. From a lot, plants are lost, graded out, sent out, kept as stock plants,
or go into another lot by a split or a merge. Only lots that are ready are merged, so that what
became of each batch's cuttings up to then stays its own.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from enum import StrEnum
from typing import Final, Self

from app.domain.days import day_long
from app.domain.outcomes import CheckCounts, CheckKind, in_order
from app.domain.problems import NotAccepted, Problem


class Stage(StrEnum):
    """What happened to rooted cuttings of a batch, or to a lot of liners."""

    WEANING = "weaning begun"
    POTTED_UP = "potted up"
    PINCHED = "pinched"
    POTTED_ON = "potted on"
    WINTERED = "came through the winter"
    LOOKED_AT = "looked at"
    LOST = "lost"
    GRADED_OUT = "graded out"
    READY = "ready"
    SENT_OUT = "sent out"
    KEPT = "kept as stock plants"
    SPLIT = "split"
    MERGED = "merged"

    @property
    def counts(self) -> bool:
        """Whether plants leave the batch or lot by it, so that it has a number."""
        return self not in _MARKS


_MARKS: Final = frozenset(
    {
        Stage.WEANING, Stage.PINCHED, Stage.POTTED_ON, Stage.WINTERED, Stage.LOOKED_AT, Stage.READY,
    }
)  # fmt: skip
PARTLY: Final = frozenset({Stage.PINCHED, Stage.POTTED_ON, Stage.READY})
"""Stages that some plants of a lot may reach alone; those then become a lot of their own."""


@dataclass(frozen=True, kw_only=True)
class StageEvent:
    """One live stage. `number` left the batch or the lot, into the lot `into_id` if there is one.

    `position` orders the stages of one day.
    """

    id: int
    position: int
    stage: Stage
    on: date
    number: int = 0
    batch_id: int | None = None
    lot_id: int | None = None
    into_id: int | None = None
    container_id: int | None = None


@dataclass(frozen=True, kw_only=True)
class LotHead:
    """A lot by its id: its code, and its batch, None where it was merged."""

    id: int
    code: str
    batch_id: int | None


@dataclass(frozen=True, kw_only=True)
class LotStanding:
    """How a lot stands: `began` came into it, `number` are in it now.

    `stage` is the last one it went through. `empty_on` is the day the last plant left it.
    """

    began: int = 0
    number: int = 0
    stage: Stage | None = None
    stage_on: date | None = None
    began_on: date | None = None
    ready_on: date | None = None
    empty_on: date | None = None
    container_id: int | None = None


@dataclass(frozen=True, kw_only=True)
class AfterRootingCounts:
    """What became of a batch's rooted cuttings: taken = ready + lost + growing.

    `ready` were ready once, or were kept as stock plants; `lost` failed before that.
    """

    taken: int = 0
    ready: int = 0
    lost: int = 0

    @property
    def growing(self) -> int:
        """How many are neither ready nor lost yet."""
        return self.taken - self.ready - self.lost


@dataclass(frozen=True, kw_only=True)
class Followed:
    """Lots and batches after all their stages, by their ids; `left` by the id of the stage."""

    lots: Mapping[int, LotStanding]
    batches: Mapping[int, AfterRootingCounts]
    left: Mapping[int, int]


class StagesDoNotAddUp(NotAccepted):
    """The refusal of stages that cannot all be true; `event` is the first that does not fit."""

    def __init__(self, problems: tuple[Problem, ...], event: StageEvent) -> None:
        super().__init__(problems)
        self.event = event

    @classmethod
    def of(cls, event: StageEvent, *, field: str, sentence: str) -> Self:
        """Return the refusal of one stage for one reason."""
        return cls((Problem(field=field, sentence=sentence),), event)


@dataclass(frozen=True, kw_only=True)
class RootedBy:
    """How many of a batch were found rooted, by the days of its checks."""

    code: str
    found: tuple[tuple[date, int], ...] = ()

    @classmethod
    def of(cls, code: str, *, checks: Iterable[CheckCounts]) -> Self:
        """Return what the checks that were not withdrawn found."""
        counted = (check for check in in_order(checks) if check.kind is CheckKind.COUNTED)
        return cls(code=code, found=tuple((one.checked_on, one.rooted) for one in counted))

    def until(self, day: date) -> int:
        """Return how many were found rooted up to and on a day."""
        return sum(number for on, number in self.found if on <= day)


def follow_stages(
    events: Iterable[StageEvent], *, lots: Iterable[LotHead], rooted: Mapping[int, RootedBy]
) -> Followed:
    """Return how lots and batches stand after these stages, given in any order.

    All stages of every lot and batch named must be among them; `rooted` is by batch.

    Raises:
        StagesDoNotAddUp: more left a batch or a lot than were in it on that day.
    """
    following = _Following(lots={lot.id: lot for lot in lots}, rooted=rooted)
    for event in sorted(events, key=lambda event: (event.on, event.position)):
        following.take(event)
    return Followed(
        lots={lot_id: following.standings.get(lot_id, LotStanding()) for lot_id in following.lots},
        batches={batch_id: following.of_batch(batch_id) for batch_id in rooted},
        left=following.left,
    )


@dataclass(frozen=True, kw_only=True)
class _Following:
    """Lots and batches as they stand after the stages taken so far."""

    lots: Mapping[int, LotHead]
    rooted: Mapping[int, RootedBy]
    standings: dict[int, LotStanding] = field(default_factory=dict)
    counts: dict[int, AfterRootingCounts] = field(default_factory=dict)
    left: dict[int, int] = field(default_factory=dict)

    def of_batch(self, batch_id: int) -> AfterRootingCounts:
        return self.counts.get(batch_id, AfterRootingCounts())

    def take(self, event: StageEvent) -> None:
        if event.batch_id is not None:
            self._from_batch(event, event.batch_id)
        elif event.lot_id is not None:
            self._from_lot(event, event.lot_id)

    def _from_batch(self, event: StageEvent, batch_id: int) -> None:
        found = self.rooted[batch_id]
        counts = self.of_batch(batch_id)
        there = found.until(event.on) - counts.taken
        if there < max(event.number, 1):
            field, sentence = too_few_rooted(event, found=found, there=there)
            raise StagesDoNotAddUp.of(event, field=field, sentence=sentence)
        lost = event.number if event.stage is Stage.LOST else 0
        self.counts[batch_id] = replace(
            counts, taken=counts.taken + event.number, lost=counts.lost + lost
        )
        self.left[event.id] = there - event.number
        if event.into_id is not None:
            self._into(event.into_id, event, ready_on=None)

    def _from_lot(self, event: StageEvent, lot_id: int) -> None:
        lot, before = self.lots[lot_id], self.standings.get(lot_id, LotStanding())
        _refuse_unfit(event, lot=lot, before=before)
        self._count(event, lot=lot, before=before)
        after = _after(event, before=before)
        self.standings[lot_id] = after
        self.left[event.id] = after.number
        if event.into_id is not None:
            self._into(event.into_id, event, ready_on=before.ready_on)

    def _count(self, event: StageEvent, *, lot: LotHead, before: LotStanding) -> None:
        """Let the batch know what became of its cuttings; after they are ready nothing counts."""
        if lot.batch_id is None or before.ready_on is not None:
            return
        counts = self.of_batch(lot.batch_id)
        if event.stage in {Stage.LOST, Stage.GRADED_OUT}:
            counts = replace(counts, lost=counts.lost + event.number)
        elif event.stage is Stage.KEPT:
            counts = replace(counts, ready=counts.ready + event.number)
        elif event.stage is Stage.READY:
            counts = replace(counts, ready=counts.ready + before.number)
        self.counts[lot.batch_id] = counts

    def _into(self, lot_id: int, event: StageEvent, *, ready_on: date | None) -> None:
        before = self.standings.get(lot_id, LotStanding())
        container_id = event.container_id
        if container_id is None and event.lot_id is not None:
            container_id = self.standings[event.lot_id].container_id
        self.standings[lot_id] = replace(
            before,
            began=before.began + event.number,
            number=before.number + event.number,
            stage=event.stage,
            stage_on=event.on,
            began_on=before.began_on or event.on,
            ready_on=before.ready_on or ready_on,
            empty_on=None,
            container_id=before.container_id if container_id is None else container_id,
        )


def _after(event: StageEvent, *, before: LotStanding) -> LotStanding:
    number = before.number - event.number
    container_id = event.container_id if event.stage is Stage.POTTED_ON else None
    told = event.stage not in {Stage.SPLIT, Stage.LOOKED_AT, Stage.LOST} or number == 0
    return replace(
        before,
        number=number,
        stage=event.stage if told else before.stage,
        stage_on=event.on if told else before.stage_on,
        ready_on=event.on if event.stage is Stage.READY else before.ready_on,
        empty_on=event.on if number == 0 else None,
        container_id=before.container_id if container_id is None else container_id,
    )


def _refuse_unfit(event: StageEvent, *, lot: LotHead, before: LotStanding) -> None:
    day = day_long(event.on)
    fault: tuple[str, str] | None = None
    if before.number == 0:
        fault = ("on", f"{lot.code} has no plants in it on {day}.")
    elif event.number > before.number:
        fault = ("number", f"{lot.code} has {before.number:,} on {day}: give at most so many.")
    elif event.stage is Stage.SPLIT and event.number == before.number:
        sentence = f"{lot.code} has {before.number:,} on {day}: leave at least one in it."
        fault = ("number", sentence)
    elif event.stage is Stage.READY and before.ready_on is not None:
        fault = ("on", f"{lot.code} is ready since {day_long(before.ready_on)}.")
    elif event.stage in {Stage.SENT_OUT, Stage.MERGED} and before.ready_on is None:
        what = "sent out" if event.stage is Stage.SENT_OUT else "merged"
        fault = ("on", f"{lot.code} is not ready on {day}, and only ready plants are {what}.")
    if fault is not None:
        raise StagesDoNotAddUp.of(event, field=fault[0], sentence=fault[1])


def too_few_rooted(event: StageEvent, *, found: RootedBy, there: int) -> tuple[str, str]:
    """Return the field and the sentence that says how many rooted ones there were."""
    day = day_long(event.on)
    if there <= 0:
        sentence = (
            f"No rooted ones of {found.code} are left to be taken on {day}. Enter the check that "
            "found them rooted first."
        )
        return "on", sentence
    return "number", f"{found.code} has {there:,} rooted ones on {day}: give at most so many."


def stage_words(stage: Stage, *, number: int | None = None, into: str = "", more: str = "") -> str:
    """Return what happened in a few words, such as "12 lost, grey mould"."""
    count = "" if number is None else f"{number:,} "
    where = {
        Stage.POTTED_UP: " as ",
        Stage.SPLIT: " off into ",
        Stage.MERGED: " into ",
    }.get(stage, "")
    told = f"{count}{stage.value}{where}{into if where else ''}"
    return f"{told}, {more}" if more else told


def may_be_entered(standing: LotStanding) -> Sequence[Stage]:
    """Return the stages that can be entered of a lot by themselves, in the order of the work."""
    if standing.number == 0:
        return ()
    growing = standing.ready_on is None
    first = (Stage.PINCHED, Stage.POTTED_ON, Stage.WINTERED, Stage.LOOKED_AT)
    ending = (Stage.READY,) if growing else (Stage.SENT_OUT,)
    return (*first, *ending, Stage.LOST, Stage.GRADED_OUT, Stage.KEPT)
