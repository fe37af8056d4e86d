"""A check as somebody types it, and how it becomes counts.

Numbers come as they were typed; what they mean depends on where the batch stood before.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date
from typing import Final

from app.domain.outcomes import (
    CheckCounts,
    CheckKind,
    Ending,
    Loss,
    Standing,
    ended_sentence,
)
from app.domain.problems import NotAccepted, Problem
from app.domain.typed_counts import RootedAs, rooted_count, with_missing

COLDEST_C: Final = -10
HOTTEST_C: Final = 60
LONGEST_NOTE: Final = 2_000
LONGEST_WORDS: Final = 200
LONGEST_REASON: Final = 500


@dataclass(frozen=True, kw_only=True)
class CheckEntry:
    """What was typed for one check; None and "" mean not recorded.

    `rooted` is a number of cuttings in the sense of `typed_as`; in a sample it is how many of
    `looked` had rooted. `missing_confirmed` is how many are missing by somebody's word where the
    unrooted were counted short. `medium_c` is the temperature of the medium, `ending_cause` why
    the rest was cleared. `plantlets` are all that stood there, of leaf, scale and root cuttings.
    """

    checked_on: date
    kind: CheckKind = CheckKind.COUNTED
    rooted: int = 0
    typed_as: RootedAs = RootedAs.NEW
    lost: tuple[Loss, ...] = ()
    callused: int | None = None
    looked: int | None = None
    unrooted_counted: int | None = None
    missing_confirmed: int | None = None
    ending: Ending = Ending.NONE
    ending_cause: str = ""
    rooted_means: str = ""
    medium_c: float | None = None
    humidity_percent: float | None = None
    note: str = ""
    checked_by_id: int | None = None
    restuck_into_id: int | None = None
    plantlets: int | None = None

    @property
    def counted_left(self) -> int | None:
        """How many unrooted were counted, whichever way it was typed; None if they were not."""
        if self.kind is not CheckKind.COUNTED:
            return None
        if self.unrooted_counted is None and self.typed_as is RootedAs.LEFT:
            return self.rooted
        return self.unrooted_counted


def accepted_entry(entry: CheckEntry) -> CheckEntry:
    """Return the entry with losses added up by cause and texts trimmed.

    Raises:
        NotAccepted: a temperature, a humidity or a text is out of range.
    """
    problems = [
        *_out_of_range(entry.medium_c, "medium_c", low=COLDEST_C, high=HOTTEST_C, unit="°C"),
        *_out_of_range(entry.humidity_percent, "humidity_percent", low=0, high=100, unit="percent"),
        *_too_long(entry.note, "note", most=LONGEST_NOTE),
        *_too_long(entry.ending_cause, "ending_cause", most=LONGEST_WORDS),
        *_too_long(entry.rooted_means, "rooted_means", most=LONGEST_WORDS),
    ]
    if problems:
        raise NotAccepted(tuple(problems))
    looked_only = entry.kind is CheckKind.LOOKED_ONLY
    return replace(
        entry,
        lost=_added_up(entry.lost),
        ending_cause=entry.ending_cause.strip() if entry.ending else "",
        rooted_means="" if looked_only else entry.rooted_means.strip(),
        note=entry.note.strip(),
    )


def counts_of(entry: CheckEntry, *, before: Standing, running: int) -> CheckCounts:
    """Return what the entry found, given where the batch stood before it.

    Raises:
        MissingAsked: the unrooted were counted short and nobody confirmed it yet.
        NotAccepted: the numbers cannot be true.
    """
    if before.ending:
        raise NotAccepted.at("checked_on", ended_sentence(before))
    rooted, lost = entry.rooted, entry.lost
    if entry.kind is CheckKind.COUNTED:
        _refuse_negative(lost)
        lost_now = sum(loss.number for loss in lost)
        count = rooted_count(rooted, typed_as=entry.typed_as, before=before, lost=lost_now)
        rooted = count.new
        lost = _added_up(
            with_missing(
                lost,
                counted_left=entry.unrooted_counted,
                count=count,
                confirmed=entry.missing_confirmed,
            )
        )
    return CheckCounts(
        checked_on=entry.checked_on,
        running=running,
        kind=entry.kind,
        rooted=rooted,
        lost=lost,
        callused=entry.callused,
        looked=entry.looked,
        ending=entry.ending,
    )


def _refuse_negative(lost: tuple[Loss, ...]) -> None:
    if any(loss.number < 0 for loss in lost):
        raise NotAccepted.at("lost", "Give numbers from 0 upwards.")


def _added_up(lost: tuple[Loss, ...]) -> tuple[Loss, ...]:
    numbers: dict[str, int] = {}
    for loss in lost:
        numbers[loss.cause] = numbers.get(loss.cause, 0) + loss.number
    return tuple(Loss(cause=cause, number=number) for cause, number in numbers.items() if number)


def _out_of_range(
    value: float | None, field: str, *, low: float, high: float, unit: str
) -> Iterator[Problem]:
    if value is not None and not low <= value <= high:
        yield Problem(field=field, sentence=f"Give a number in {unit}, from {low} to {high}.")


def _too_long(text: str, field: str, *, most: int) -> Iterator[Problem]:
    if len(text) > most:
        yield Problem(field=field, sentence=f"Keep this within {most:,} letters.")
