"""The strip of a batch's days: places of its checks on a line from sticking to what comes next.

Numbers in, places out; the template writes them down and nothing here knows a colour.
"""

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Final

from app.domain.outcomes import CheckCounts, CheckKind, Standing, cuttings, in_order, tally

WIDTH: Final = 480
HEIGHT: Final = 190
LEFT: Final = 14
RIGHT: Final = 466
TOP: Final = 24
FLOOR: Final = 150
_BAR: Final = 18
_ROOM_FOR_WORDS: Final = 52
_LINE: Final = 16
_FEWEST_DAYS: Final = 7


@dataclass(frozen=True, kw_only=True)
class Step:
    """A check, and where the batch stood after it."""

    check: CheckCounts
    standing: Standing


@dataclass(frozen=True, kw_only=True)
class StripPiece:
    """One stretch of a bar; `fill` names its pattern, if any."""

    kind: str
    fill: str
    y: float
    height: float


@dataclass(frozen=True, kw_only=True)
class StripBar:
    """What was rooted, unrooted and lost after a full count; the first is the day of sticking."""

    x: float
    width: int
    pieces: tuple[StripPiece, ...]


@dataclass(frozen=True, kw_only=True)
class StripMark:
    """A look or a sample: a mark on the line of days."""

    x: float
    kind: str


@dataclass(frozen=True, kw_only=True)
class StripWord:
    """Words below the line; `anchor` says how they hang on their place."""

    x: float
    y: int
    text: str
    anchor: str
    strong: bool = False


@dataclass(frozen=True, kw_only=True)
class DayStrip:
    """The whole picture, and the same in words; `ahead` is the path of what is expected."""

    bars: tuple[StripBar, ...]
    marks: tuple[StripMark, ...]
    words: tuple[StripWord, ...]
    today_x: float | None
    due_x: float | None
    said: str
    ahead: str = ""
    width: int = WIDTH
    height: int = HEIGHT
    left: int = LEFT
    right: int = RIGHT
    top: int = TOP
    floor: int = FLOOR


def day_strip(
    checks: Iterable[CheckCounts],
    *,
    stuck: int,
    stuck_on: date,
    today: date,
    due_on: date | None,
    ended_on: date | None,
    ahead: Sequence[tuple[date, float]] = (),
) -> DayStrip:
    """Return the strip of a batch from the day of sticking to today, the next check or its end.

    `ahead` are days with the number expected to be rooted by then, from the last count on; the
    strip then goes as far as they do.
    """
    ordered = in_order(checks)
    last = ended_on or max(today, due_on or today, *(day for day, _ in ahead))
    days = max((last - stuck_on).days, _FEWEST_DAYS)

    def place(day: date) -> float:
        return round(LEFT + (RIGHT - LEFT) * (day - stuck_on).days / days, 1)

    steps = _steps(ordered, stuck=stuck, stuck_on=stuck_on)
    due_x = place(max(due_on, stuck_on)) if due_on else None
    counts = [step for step in steps if _changes(step.check)]
    present, bars = None if ended_on else today, (_bar(Standing(stuck=stuck), x=LEFT),)
    expected = [(place(day), _height(number, stuck=stuck)) for day, number in ahead]
    return DayStrip(
        bars=bars + tuple(_bar(step.standing, x=place(step.check.checked_on)) for step in counts),
        marks=_marks(ordered, place=place),
        words=(
            *_top_words(stuck, due_x=due_x),
            *_day_words([step.check.checked_on for step in counts], stuck_on, place=place),
            *_present_words(present, stuck_on, place=place),
            *_expected_words(ahead, expected),
        ),
        today_x=place(present) if present else None,
        due_x=due_x,
        said=_said(steps, stuck=stuck, stuck_on=stuck_on) + _expected_said(ahead, stuck_on),
        ahead="M" + "L".join(f"{x:g} {y:g}" for x, y in expected) if expected else "",
    )


def _marks(
    ordered: Sequence[CheckCounts], *, place: Callable[[date], float]
) -> tuple[StripMark, ...]:
    return tuple(
        StripMark(x=place(check.checked_on), kind=check.kind.value.partition(" ")[0])
        for check in ordered
        if not _changes(check)
    )


def _changes(check: CheckCounts) -> bool:
    """Return whether the bars change here: a count, or some that were re-stuck."""
    return check.kind is CheckKind.COUNTED or not check.is_check


def _steps(ordered: Sequence[CheckCounts], *, stuck: int, stuck_on: date) -> list[Step]:
    return [
        Step(check=check, standing=tally(ordered[: number + 1], stuck=stuck, stuck_on=stuck_on))
        for number, check in enumerate(ordered)
    ]


def _bar(standing: Standing, *, x: float) -> StripBar:
    counts = (
        ("rooted", "", standing.rooted),
        ("unrooted", "hatch", standing.unrooted),
        ("cleared", "", standing.cleared_unrooted),
        ("lost", "dots", standing.lost),
        ("dumped", "dots", standing.dumped),
    )
    pieces, floor = [], float(FLOOR)
    for kind, fill, number in counts:
        if number:
            height = (FLOOR - TOP) * number / standing.stuck
            floor -= height
            pieces.append(
                StripPiece(kind=kind, fill=fill, y=round(floor, 2), height=round(height, 2))
            )
    left = min(max(x - _BAR / 2, LEFT), RIGHT - _BAR)
    return StripBar(x=round(left, 1), width=_BAR, pieces=tuple(pieces))


def _top_words(stuck: int, *, due_x: float | None) -> Iterator[StripWord]:
    yield StripWord(x=LEFT, y=TOP - 8, text=cuttings(stuck), anchor="start")
    if due_x is not None:
        x = min(max(due_x, LEFT + 3 * _ROOM_FOR_WORDS), RIGHT)
        yield StripWord(x=x, y=TOP - 8, text="next check", anchor="end")


def _day_words(
    days: Sequence[date], stuck_on: date, *, place: Callable[[date], float]
) -> Iterator[StripWord]:
    yield StripWord(x=LEFT, y=FLOOR + 18, text="stuck", anchor="start")
    free_from = float(LEFT + _ROOM_FOR_WORDS)
    for day in days:
        x = place(day)
        if x - _ROOM_FOR_WORDS / 2 < free_from:
            continue
        free_from = x + _ROOM_FOR_WORDS / 2
        words = f"day {(day - stuck_on).days}"
        near_end = x > RIGHT - _ROOM_FOR_WORDS / 2
        yield StripWord(
            x=RIGHT if near_end else x,
            y=FLOOR + 18,
            text=words,
            anchor="end" if near_end else "middle",
        )


def _present_words(
    today: date | None, stuck_on: date, *, place: Callable[[date], float]
) -> Iterator[StripWord]:
    if today is None:
        return
    x, words = place(today), f"today, day {(today - stuck_on).days}"
    anchor = "start" if x < LEFT + _ROOM_FOR_WORDS else "middle"
    if x > RIGHT - _ROOM_FOR_WORDS:
        anchor, x = "end", float(RIGHT)
    yield StripWord(x=x, y=FLOOR + 36, text=words, anchor=anchor, strong=True)


def _height(number: float, *, stuck: int) -> float:
    return round(FLOOR - (FLOOR - TOP) * number / stuck, 1)


def _expected_words(
    ahead: Sequence[tuple[date, float]], places: Sequence[tuple[float, float]]
) -> Iterator[StripWord]:
    if ahead:
        x, y = places[-1]
        above = max(round(y) - 8, TOP + _LINE)
        yield StripWord(x=x, y=above, text=f"about {round(ahead[-1][1]):,} rooted", anchor="end")


def _expected_said(ahead: Sequence[tuple[date, float]], stuck_on: date) -> str:
    if not ahead:
        return ""
    day, number = ahead[-1]
    return f"; expected by day {(day - stuck_on).days}: about {round(number):,} rooted"


def _said(steps: Sequence[Step], *, stuck: int, stuck_on: date) -> str:
    parts = [f"{cuttings(stuck)} stuck"]
    for step in steps:
        day = f"day {(step.check.checked_on - stuck_on).days}"
        if not step.check.is_check:
            parts.append(f"{day}: {step.check.restuck:,} re-stuck")
        elif step.check.kind is CheckKind.COUNTED:
            standing = step.standing
            parts.append(
                f"{day}: {standing.rooted:,} rooted, {standing.unrooted:,} unrooted, "
                f"{standing.lost:,} lost"
            )
        else:
            parts.append(f"{day}: {step.check.kind.value}")
    return "; ".join(parts)
