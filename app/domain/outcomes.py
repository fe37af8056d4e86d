"""What became of a batch's cuttings: the counts of its checks and the rule that they add up.

A check is counted, a sample or a look; only what was counted moves cuttings from unrooted to
rooted or lost. Between the checks some may be taken out and re-stuck as another batch. Whatever
adds up, refuses to, or ends a batch belongs here; when the next check is due does not.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date
from enum import StrEnum
from typing import Self

from app.domain.days import day_long
from app.domain.problems import NotAccepted, Problem


class CheckKind(StrEnum):
    """How closely the batch was looked at."""

    COUNTED = "counted"
    SAMPLE = "sample"
    LOOKED_ONLY = "looked only"


class Ending(StrEnum):
    """What happened to the rest of a batch at a check; empty while it stays on the bench."""

    NONE = ""
    DUMPED = "dumped"
    CLEARED_UNROOTED = "cleared unrooted"


class BatchState(StrEnum):
    """Where a batch stands."""

    UNROOTED = "unrooted"
    PART_ROOTED = "part rooted"
    CLEARED = "cleared"


@dataclass(frozen=True, kw_only=True)
class Loss:
    """How many were found lost to one cause."""

    cause: str
    number: int


@dataclass(frozen=True, kw_only=True)
class CheckCounts:
    """What one check found.

    `rooted` and `lost` are new since the check before. In a sample `rooted` were found among
    `looked`, and neither is part of any total. `running` tells apart the checks of one day.
    `callused` are among those still unrooted.

    `restuck` above 0 makes it no check at all: so many were taken out on that day and stuck again
    as another batch, after the check of the day's number `running`.
    """

    checked_on: date
    running: int = 1
    kind: CheckKind = CheckKind.COUNTED
    rooted: int = 0
    lost: tuple[Loss, ...] = ()
    callused: int | None = None
    looked: int | None = None
    ending: Ending = Ending.NONE
    withdrawn: bool = False
    restuck: int = 0

    @property
    def is_check(self) -> bool:
        """Whether somebody looked, and it is not only what was re-stuck."""
        return not self.restuck

    @property
    def lost_in_all(self) -> int:
        """How many were found lost, whatever the cause."""
        return sum(loss.number for loss in self.lost)


@dataclass(frozen=True, kw_only=True)
class Standing:
    """A batch after its checks: rooted + lost + dumped + cleared_unrooted + unrooted = stuck.

    `restuck` of the cleared ones were stuck again as other batches. `last_looked_on` is the day of
    the last check of any kind, `counted_on` that of the last full count, `ended_on` the day on
    which nothing was left unrooted.
    """

    stuck: int
    rooted: int = 0
    lost: int = 0
    dumped: int = 0
    cleared_unrooted: int = 0
    restuck: int = 0
    last_looked_on: date | None = None
    counted_on: date | None = None
    ended_on: date | None = None
    ending: Ending = Ending.NONE

    @property
    def unrooted(self) -> int:
        """Cuttings neither rooted nor lost nor cleared away."""
        return self.stuck - self.rooted - self.lost - self.dumped - self.cleared_unrooted

    @property
    def ended(self) -> int:
        """How many went with the ending of the batch and were not re-stuck."""
        return self.dumped + self.cleared_unrooted - self.restuck

    @property
    def left_to_restick(self) -> int:
        """How many can be stuck again: the unrooted, or those that went with the ending."""
        return self.unrooted + self.ended

    @property
    def state(self) -> BatchState:
        """Return unrooted, part rooted or, once nothing is left, cleared."""
        if self.unrooted == 0:
            return BatchState.CLEARED
        return BatchState.PART_ROOTED if self.rooted else BatchState.UNROOTED


class DoesNotAddUp(NotAccepted):
    """The refusal of counts that cannot all be true; `check` is the first that does not fit."""

    def __init__(self, problems: tuple[Problem, ...], check: CheckCounts) -> None:
        super().__init__(problems)
        self.check = check

    @classmethod
    def of(cls, check: CheckCounts, *, field: str, sentence: str) -> Self:
        """Return the refusal of one check for one reason."""
        return cls((Problem(field=field, sentence=sentence),), check)


def in_order(checks: Iterable[CheckCounts]) -> tuple[CheckCounts, ...]:
    """Return the checks that were not withdrawn, by day and by their number of the day.

    What was re-stuck stands after the check whose number it has.
    """
    live = (check for check in checks if not check.withdrawn)
    return tuple(
        sorted(live, key=lambda check: (check.checked_on, check.running, not check.is_check))
    )


def tally(checks: Iterable[CheckCounts], *, stuck: int, stuck_on: date) -> Standing:
    """Return where a batch of `stuck` cuttings stands after its checks, given in any order.

    Raises:
        DoesNotAddUp: at some check rooted and lost would exceed what was stuck, a check follows
            the end of the batch, more was re-stuck than stood there, or a check contradicts itself.
    """
    standing = Standing(stuck=stuck)
    for check in in_order(checks):
        _refuse_contradiction(check, stuck=stuck, stuck_on=stuck_on)
        standing = _after(standing, check) if check.is_check else _less_restuck(standing, check)
    return standing


def tally_with(
    entered: CheckCounts,
    *,
    others: Sequence[CheckCounts],
    stuck: int,
    stuck_on: date,
    today: date,
) -> Standing:
    """Return where the batch stands once `entered` has joined its other checks.

    Raises:
        NotAccepted: the entry is wrong in itself, does not fit what was found before it, or would
            leave a later check that no longer adds up.
    """
    if entered.checked_on > today:
        sentence = f"{day_long(entered.checked_on)} has not come yet. Give the day of the look."
        raise NotAccepted.at("checked_on", sentence)
    try:
        standing = tally((*others, entered), stuck=stuck, stuck_on=stuck_on)
    except DoesNotAddUp as refusal:
        if refusal.check is entered:
            raise
        raise _later_refusal(refusal, entered=entered) from refusal
    before = standing_before(
        others,
        checked_on=entered.checked_on,
        running=entered.running,
        stuck=stuck,
        stuck_on=stuck_on,
    )
    _refuse_too_many_callused(entered, before=before)
    return standing


def standing_before(
    others: Iterable[CheckCounts], *, checked_on: date, running: int, stuck: int, stuck_on: date
) -> Standing:
    """Return where the batch stood just before the check of that day and number of the day."""
    before = [
        check for check in others if (check.checked_on, check.running) < (checked_on, running)
    ]
    return tally(before, stuck=stuck, stuck_on=stuck_on)


def lost_by_cause(checks: Iterable[CheckCounts]) -> tuple[Loss, ...]:
    """Return all losses of a batch added up by cause, the largest first."""
    numbers: dict[str, int] = {}
    for check in in_order(checks):
        for loss in check.lost:
            numbers[loss.cause] = numbers.get(loss.cause, 0) + loss.number
    ranked = sorted(numbers.items(), key=lambda entry: (-entry[1], entry[0]))
    return tuple(Loss(cause=cause, number=number) for cause, number in ranked if number)


def ended_sentence(standing: Standing) -> str:
    """Return why a batch whose rest is gone cannot be checked any more."""
    ended_on = day_long(standing.ended_on) if standing.ended_on else "an earlier day"
    return (
        f"The rest of this batch was {standing.ending} on {ended_on}, so there is nothing to check "
        "after that. If it was not, correct that check first."
    )


def last_callused(checks: Iterable[CheckCounts]) -> int:
    """Return how many were callused when last counted, less those re-stuck since; 0 if never."""
    left = 0
    for check in in_order(checks):
        left = max(left - check.restuck, 0) if check.callused is None else check.callused
    return left


def gone_words(standing: Standing) -> str:
    """Return "Rooted 40 and lost 12", and the re-stuck ones where there are any."""
    if standing.restuck:
        return (
            f"Rooted {standing.rooted:,}, lost {standing.lost:,} and re-stuck {standing.restuck:,}"
        )
    return f"Rooted {standing.rooted:,} and lost {standing.lost:,}"


def cuttings(number: int) -> str:
    """Return "1 cutting" or "12 cuttings"."""
    return "1 cutting" if number == 1 else f"{number:,} cuttings"


def _after(standing: Standing, check: CheckCounts) -> Standing:
    if standing.ending:
        raise DoesNotAddUp.of(check, field="checked_on", sentence=ended_sentence(standing))
    left = standing.unrooted - check.lost_in_all
    counted = check.kind is CheckKind.COUNTED
    rooted = check.rooted if counted else 0
    if left - rooted < 0:
        _refuse_excess(standing, check)
    rest = left - rooted
    ended = bool(check.ending) or rest == 0
    cleared = rest if check.ending is Ending.CLEARED_UNROOTED else 0
    return replace(
        standing,
        rooted=standing.rooted + rooted,
        lost=standing.lost + check.lost_in_all,
        dumped=rest if check.ending is Ending.DUMPED else 0,
        cleared_unrooted=standing.restuck + cleared,
        last_looked_on=check.checked_on,
        counted_on=check.checked_on if counted else standing.counted_on,
        ended_on=standing.ended_on or (check.checked_on if ended else None),
        ending=check.ending,
    )


def _less_restuck(standing: Standing, moved: CheckCounts) -> Standing:
    """Return where a batch stands once some were re-stuck: cleared, neither rooted nor failed.

    After an ending they are of those that went with it; dumped ones that were re-stuck after all
    did not fail.
    """
    if moved.restuck > standing.left_to_restick:
        raise DoesNotAddUp.of(moved, field="stuck", sentence=_too_many_restuck(standing, moved))
    from_dumped = min(moved.restuck, standing.dumped)
    went = 0 if standing.dumped else standing.ended
    from_cleared = min(moved.restuck, went)
    now = replace(
        standing,
        restuck=standing.restuck + moved.restuck,
        dumped=standing.dumped - from_dumped,
        cleared_unrooted=standing.cleared_unrooted + moved.restuck - from_cleared,
    )
    if now.unrooted == 0 and now.ended_on is None:
        return replace(now, ended_on=moved.checked_on)
    return now


def _too_many_restuck(standing: Standing, moved: CheckCounts) -> str:
    left = standing.left_to_restick
    stood = "nothing stood" if left == 0 else f"only {left:,} stood"
    return (
        f"On {day_long(moved.checked_on)} {stood} there unrooted, so {moved.restuck:,} cannot have "
        "been re-stuck from it. Correct the number, or the check that says how many were left."
    )


def _refuse_excess(standing: Standing, check: CheckCounts) -> None:
    asked = (("rooted", check.rooted), ("lost", check.lost_in_all))
    wanted = " and ".join(f"{number:,} {word}" for word, number in asked if number)
    sentence = (
        f"{gone_words(standing)} leave {standing.unrooted:,} of {standing.stuck:,} unrooted; you "
        f"cannot add {wanted}. Count again, or correct an earlier check."
    )
    field = "rooted" if check.rooted else "lost"
    raise DoesNotAddUp.of(check, field=field, sentence=sentence)


def _later_refusal(refusal: DoesNotAddUp, *, entered: CheckCounts) -> NotAccepted:
    if not refusal.check.is_check:
        sentence = (
            f"On {day_long(refusal.check.checked_on)} {refusal.check.restuck:,} were re-stuck from "
            "this batch; with these numbers fewer would have been left for that. Count again, or "
            "correct the batch they went into first."
        )
        field = "rooted" if entered.rooted or not entered.lost_in_all else "lost"
        return NotAccepted.at(field, sentence)
    if entered.ending and refusal.check.checked_on >= entered.checked_on:
        sentence = (
            f"There is a check of {day_long(refusal.check.checked_on)} after this one, so the rest "
            "cannot have gone on this day. Correct or withdraw that check first."
        )
        return NotAccepted.at("ending", sentence)
    sentence = (
        f"With these numbers the check of {day_long(refusal.check.checked_on)} would no longer add "
        f"up. {refusal} If that later check is the one that is wrong, correct it first."
    )
    field = "rooted" if entered.rooted else "lost" if entered.lost_in_all else ""
    return NotAccepted.at(field, sentence)


def _refuse_contradiction(check: CheckCounts, *, stuck: int, stuck_on: date) -> None:
    if check.checked_on < stuck_on and not check.is_check:
        sentence = f"It was stuck on {day_long(stuck_on)}; none can be re-stuck before that."
        raise DoesNotAddUp.of(check, field="stuck_on", sentence=sentence)
    if check.checked_on < stuck_on:
        sentence = f"The batch was stuck on {day_long(stuck_on)}; a check cannot be before that."
        raise DoesNotAddUp.of(check, field="checked_on", sentence=sentence)
    numbers = (check.rooted, check.callused or 0, *(loss.number for loss in check.lost))
    if min(numbers) < 0:
        sentence = "Give numbers from 0 upwards. To take a count back, correct the earlier check."
        raise DoesNotAddUp.of(check, field="rooted", sentence=sentence)
    if check.kind is CheckKind.SAMPLE:
        _refuse_odd_sample(check, stuck=stuck)
    elif check.looked is not None:
        sentence = "Leave this blank unless only a sample was looked at."
        raise DoesNotAddUp.of(check, field="looked", sentence=sentence)
    if check.kind is CheckKind.LOOKED_ONLY:
        _refuse_numbers_at_a_look(check)


def _refuse_numbers_at_a_look(check: CheckCounts) -> None:
    field = "rooted" if check.rooted else "lost" if check.lost_in_all else ""
    if field:
        sentence = "A look carries no numbers. Choose counted to log what rooted or was lost."
        raise DoesNotAddUp.of(check, field=field, sentence=sentence)
    if check.callused:
        sentence = "A look carries no numbers. Choose counted or sample to log what is callused."
        raise DoesNotAddUp.of(check, field="callused", sentence=sentence)
    if check.ending:
        sentence = (
            "An ending says what became of every cutting. Choose counted to end the batch; leave "
            "the numbers at 0 if nothing more had rooted or was lost."
        )
        raise DoesNotAddUp.of(check, field="ending", sentence=sentence)


def _refuse_odd_sample(check: CheckCounts, *, stuck: int) -> None:
    field, sentence = "", ""
    if not check.looked:
        field, sentence = "looked", "Say how many were looked at for the sample."
    elif check.looked > stuck:
        field, sentence = "looked", f"Only {cuttings(stuck)} were stuck; a sample looks at no more."
    elif check.rooted > check.looked:
        field = "rooted"
        sentence = f"{check.rooted:,} cannot have rooted of the {check.looked:,} looked at."
    elif check.lost_in_all:
        field, sentence = "lost", "A sample loses none. Choose counted to log what was lost."
    elif check.ending:
        field = "ending"
        sentence = "A sample leaves the rest on the bench. Choose counted to end the batch."
    if sentence:
        raise DoesNotAddUp.of(check, field=field, sentence=sentence)


def _refuse_too_many_callused(entered: CheckCounts, *, before: Standing) -> None:
    moved = entered.rooted + entered.lost_in_all if entered.kind is CheckKind.COUNTED else 0
    left = before.unrooted - moved
    if (entered.callused or 0) > left:
        sentence = f"After this check {left:,} are unrooted; no more than that can be callused."
        raise NotAccepted.at("callused", sentence)
