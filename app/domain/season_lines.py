"""Lines of the season's board: a batch of an order in a week, made by the plan or set by hand."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import Final

from app.domain.days import LATEST, iso_week
from app.domain.orders import order_name
from app.domain.problems import NotAccepted, Problem
from app.domain.seasons import Season, Sticking, plants_cut, trays_used

MOST_CUTTINGS: Final = 1_000_000
LONGEST_NOTE: Final = 200
_WEEK: Final = 7


@dataclass(frozen=True, kw_only=True)
class SeasonLineEntry:
    """So many cuttings of an order in the week that begins on a Monday, as it is entered."""

    order_number: int
    week_on: date
    cuttings: int
    note: str = ""


@dataclass(frozen=True, kw_only=True)
class SeasonLineKept:
    """A line as it stands on the board; a fixed one stays when the season is planned again."""

    id: int
    version: int
    entry: SeasonLineEntry
    plant: str
    fixed: bool
    order_open: bool = True

    @property
    def order(self) -> str:
        """What the order is called."""
        return order_name(self.entry.order_number)

    @property
    def week(self) -> str:
        """The week, such as "2027-W05"."""
        return iso_week(self.entry.week_on)

    def is_past(self, today: date) -> bool:
        """Whether its week is over."""
        return self.entry.week_on < monday_of(today)


def accepted_line(entry: SeasonLineEntry, *, today: date) -> SeasonLineEntry:
    """Return the entry with its note tidied and its day put on the Monday of its week.

    Raises:
        NotAccepted: the week is over or too far off, or the number cannot be.
    """
    tidy = replace(entry, week_on=monday_of(entry.week_on), note=" ".join(entry.note.split()))
    problems = []
    if tidy.week_on < monday_of(today):
        sentence = f"{iso_week(tidy.week_on)} is over: give this week or one to come."
        problems.append(Problem(field="week", sentence=sentence))
    if tidy.week_on > LATEST:
        problems.append(Problem(field="week", sentence=f"Give a week up to {LATEST.year}."))
    if not 1 <= tidy.cuttings <= MOST_CUTTINGS:
        sentence = f"Give how many to stick, from 1 to {MOST_CUTTINGS:,}."
        problems.append(Problem(field="cuttings", sentence=sentence))
    if len(tidy.note) > LONGEST_NOTE:
        sentence = f"Shorten this to at most {LONGEST_NOTE} characters."
        problems.append(Problem(field="note", sentence=sentence))
    if problems:
        raise NotAccepted(tuple(problems))
    return tidy


def monday_of(day: date) -> date:
    """Return the Monday of the day's week."""
    return day - timedelta(days=day.weekday())


def weeks_from(week_on: date, *, today: date) -> int:
    """Return how many weeks a Monday lies after that of today's week, below 0 before it."""
    return (week_on - monday_of(today)).days // _WEEK


def season_beside(season: Season, *, fixed: Sequence[Sticking]) -> Season:
    """Return what is left to plan of a season beside what is fixed by hand.

    Room, labour and stock plants that the fixed lines use are gone, and their cuttings count to
    their orders. Where the fixed lines use more than there is, nothing is left there.
    """
    lines = tuple(fixed)
    used = trays_used(season, stickings=lines)
    stuck_by_week, stuck_by_order = [0] * season.weeks, [0] * len(season.orders)
    for each in lines:
        stuck_by_week[each.week] += each.cuttings
        stuck_by_order[each.order] += each.cuttings
    return replace(
        season,
        orders=tuple(
            replace(order, cuttings=max(0, order.cuttings - number))
            for order, number in zip(season.orders, stuck_by_order, strict=True)
        ),
        trays=season.trays
        and tuple(max(0.0, room - by) for room, by in zip(season.trays, used, strict=True)),
        labour=season.labour
        and tuple(max(0, most - by) for most, by in zip(season.labour, stuck_by_week, strict=True)),
        groups=tuple(
            replace(group, plants=_plants_left(season, lines=lines, group=place))
            for place, group in enumerate(season.groups)
        ),
    )


def broken_by(season: Season, *, lines: Sequence[Sticking]) -> Iterator[tuple[int, str]]:
    """Yield (week, what) for each limit of the season that the lines together do not keep."""
    used = trays_used(season, stickings=tuple(lines))
    stuck = [0] * season.weeks
    for each in lines:
        stuck[each.week] += each.cuttings
    for week in range(season.weeks):
        if season.trays is not None and used[week] > season.trays[week] + 1e-6:
            yield week, f"{used[week]:,.0f} trays, where {season.trays[week]:,.0f} have room"
        if season.labour is not None and stuck[week] > season.labour[week]:
            yield week, f"{stuck[week]:,} cuttings, where {season.labour[week]:,} can be stuck"
    for place, group in enumerate(season.groups):
        cut = plants_cut(season, stickings=tuple(lines), group=place)
        for week in range(season.weeks):
            together = sum(cut[max(0, week - group.rest_weeks + 1) : week + 1])
            if cut[week] and together > group.plants[week]:
                there = f"{group.plants[week]:,} are fit to cut"
                yield week, f"{together:,} stock plants of {group.name}, where {there}"


def _plants_left(season: Season, lines: tuple[Sticking, ...], *, group: int) -> tuple[int, ...]:
    """Return the plants left by week: those cut for a fixed line rest before and after it."""
    cut = plants_cut(season, stickings=lines, group=group)
    rest, plants = season.groups[group].rest_weeks, season.groups[group].plants
    return tuple(
        max(0, plants[week] - sum(cut[max(0, week - rest + 1) : week + 1]))
        for week in range(season.weeks)
    )
