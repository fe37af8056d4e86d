"""What wants a look: how due a batch is, what makes it urgent, and what to expect there.

Everything here is said in words for the page and the command that list what is due. Numbers are
expected only where earlier batches taught how fast the genus roots.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta
from enum import StrEnum
from typing import Final

from app.domain.check_plans import DAYS_PER_WEEK
from app.domain.due_outlooks import FINISH, KeptOutlook, expected_words, reason_words
from app.domain.outcomes import Standing

COMING_DAYS: Final = 7
# A week more than the weekly look is when a rot has had time to cross a tray (common practice,
# no source).
URGENT_AFTER_DAYS: Final = 7
NO_SOURCE: Final = "common practice, no source"
_LOOK_FOR: Final = "rot, pests, shading, and whether they are wet enough"
NUMBER_WORDS: Final = (
    "no", "one", "two", "three", "four", "five", "six",
    "seven", "eight", "nine", "ten", "eleven", "twelve",
)  # fmt: skip


class DueState(StrEnum):
    """How due a batch is on a day."""

    LATE = "late"
    DUE_TODAY = "due today"
    COMING = "coming seven days"
    NOT_YET = "not yet due"


class DueFor(StrEnum):
    """What the batch is due for: a count is also a look."""

    LOOK = "look"
    COUNT = "count"


@dataclass(frozen=True, kw_only=True)
class TimeToRoot:
    """Weeks from sticking to roots, from low to high, with who says so ("" for nobody)."""

    weeks_low: float
    weeks_high: float | None = None
    source: str = ""


@dataclass(frozen=True, kw_only=True)
class DueDates:
    """The dates of an open batch that decide how due it is.

    `late_on` is the first day on which it counts as late; the day after it is due if left out.
    """

    stuck_on: date
    look_on: date
    count_on: date
    late_on: date | None = None

    @property
    def due_on(self) -> date:
        """The earlier of look and count."""
        return min(self.look_on, self.count_on)

    def state(self, today: date) -> DueState:
        """Return late, due today (or before, and not late yet), coming, or not yet due."""
        if (self.late_on or self.due_on + timedelta(days=1)) <= today:
            return DueState.LATE
        if self.due_on <= today:
            return DueState.DUE_TODAY
        soon = self.due_on <= today + timedelta(days=COMING_DAYS)
        return DueState.COMING if soon else DueState.NOT_YET


def due_for(dates: DueDates, *, today: date) -> DueFor:
    """Return what a check should be: a count once the day of the count has come or is next."""
    on = max(today, dates.due_on)
    return DueFor.COUNT if dates.count_on <= on else DueFor.LOOK


def urgency(
    dates: DueDates, *, today: date, standing: Standing, spreading: Iterable[str] = ()
) -> tuple[str, ...]:
    """Return why the batch should come first, in words; nothing for one that is not urgent.

    `spreading` are the causes that spread among those found at the last check; with one of them
    a batch is urgent even before it is due.
    """
    reasons = [f"{cause} at the last check, and it spreads" for cause in sorted(spreading)]
    late = dates.state(today) is DueState.LATE
    late_days = (today - dates.due_on).days if late else 0
    if late and standing.last_looked_on is None:
        reasons.append(f"never looked at in {_age(today - dates.stuck_on)}")
    if late_days > URGENT_AFTER_DAYS:
        reasons.append("late by over a week")
    return tuple(reasons)


def expectation(
    dates: DueDates,
    *,
    today: date,
    standing: Standing,
    time_to_root: TimeToRoot | None = None,
    lined_out: bool = False,
    outlook: KeptOutlook | None = None,
) -> str:
    """Return what to expect at the next check, why now, and where that is known from."""
    if outlook is not None:
        return _as_learned(outlook, dates=dates, today=today, standing=standing)
    if due_for(dates, today=today) is DueFor.LOOK:
        return _at_a_look(lined_out=lined_out)
    if standing.counted_on is not None:
        return f"count due; {_since_last_count(standing, today=today)}"
    if lined_out:
        return f"first count due: lined out, counted in the autumn, {NO_SOURCE}"
    if time_to_root is None:
        return "first count due: how long this plant takes to root is not known here yet"
    return f"first count due: {rooting_time(time_to_root)}"


def rooting_time(known: TimeToRoot) -> str:
    """Return "roots usually after 4 to 6 weeks, common practice, no source"."""
    low = f"{known.weeks_low:g}"
    high = known.weeks_high or known.weeks_low
    unit = "week" if high == 1 else "weeks"
    span = low if high == known.weeks_low else f"{low} to {high:g}"
    return f"roots usually after {span} {unit}, {known.source or NO_SOURCE}"


def today_heading(*, late: int, due_today: int) -> str:
    """Return the sentence over the list: how many batches want a look today, how many late."""
    wanted = late + due_today
    if not wanted:
        return "Nothing wants a look today"
    verb = "wants" if wanted == 1 else "want"
    opening = f"{number_word(wanted).capitalize()} {_batches(wanted)} {verb} a look today"
    if not late:
        return opening
    if not due_today:
        how = {1: "and it is late", 2: "both of them late"}.get(late, "all of them late")
        return f"{opening}, {how}"
    return f"{opening}, {number_word(late)} of them late"


def number_word(number: int) -> str:
    """Return the number as a word up to twelve, in digits beyond."""
    return NUMBER_WORDS[number] if number < len(NUMBER_WORDS) else f"{number:,}"


def bench_summary(*, late: int, due_today: int, coming: int) -> str:
    """Return what a bench holds, such as "3 batches, 1 late", for the line beside its name."""
    parts = ((late, "late"), (due_today, "due"), (coming, "coming"))
    total = late + due_today + coming
    said = ", ".join(f"{number:,} {word}" for number, word in parts if number)
    return f"{batch_count(total)}: {said}"


def batch_count(number: int) -> str:
    """Return "1 batch" or "12 batches"."""
    return f"{number:,} {_batches(number)}"


def _batches(number: int) -> str:
    return "batch" if number == 1 else "batches"


def _as_learned(outlook: KeptOutlook, *, dates: DueDates, today: date, standing: Standing) -> str:
    """Return what earlier batches let expect by today, or by the day on which it is due."""
    on = max(today, dates.due_on)
    expected = expected_words(outlook, on=on, today=today, standing=standing)
    if due_for(dates, today=today) is DueFor.COUNT:
        count = "count due" if standing.counted_on else "first count due"
        return f"{count}: {expected}; {reason_words(outlook, on=on, today=today)}"
    every = (dates.look_on - (standing.last_looked_on or dates.stuck_on)).days
    why = "weekly look" if every == DAYS_PER_WEEK else f"look every {every} days"
    return f"{why}: {_LOOK_FOR}; {FINISH if outlook.finish else expected}"


def _age(age: timedelta) -> str:
    return "1 day" if age.days == 1 else f"{age.days:,} days"


def _at_a_look(*, lined_out: bool) -> str:
    if lined_out:
        return "look due: buds breaking, and cuttings lifted by frost to be firmed in"
    return f"look due: {_LOOK_FOR}"


def _since_last_count(standing: Standing, *, today: date) -> str:
    ago = (today - standing.counted_on).days if standing.counted_on else 0
    when = f"{ago // DAYS_PER_WEEK} weeks ago" if ago >= 3 * DAYS_PER_WEEK else _ago(ago)
    return f"{standing.rooted:,} rooted and {standing.unrooted:,} not rooted yet {when}"


def _ago(days: int) -> str:
    return {0: "today", 1: "yesterday"}.get(days, f"{days} days ago")
