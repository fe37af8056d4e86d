"""Which batches are stuck on which day, by whom and how: the plan of the story.

Each batch has its own dice, seeded by its plant and its place in the year, so that a change of
the list does not tell another story of all the rest.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from random import Random
from typing import Final

from seed_demo.nature import Fate, Mishap, draw_fate, shifted
from seed_demo.places import HEAD, SEASONAL, SECOND_TRAINEE, TRAINEE, DemoPerson
from seed_demo.plants import Habit, read_habits

STORY_DAYS: Final = 730
_SATURDAY: Final = 5
_PLUGS: Final = {"84-plug tray": 84, "104-plug tray": 104}
_POTS_TO_A_TRAY: Final = 18
_CUTTINGS_TO_A_POT: Final = 3
_ROW_OF_A_BED: Final = 60
_WHO: Final = ((HEAD, 0.2), (TRAINEE, 0.4), (SEASONAL, 0.25), (SECOND_TRAINEE, 0.25))
# The last weeks of a season find wood too hard, the first ones of semi-ripe find it too soft.
_LATE_SHIFT: Final = -0.35
_EARLY_SHIFT: Final = -0.2
_SICK_SHIFT: Final = -2.2
_LEARNT_SHIFT: Final = 0.3
_LEARNT_AFTER_DAYS: Final = 300
SICK_PLANT: Final = "Pelargonium 'Attar of Roses'"
SICK_FOR_DAYS: Final = 365
"""The second row of this plant is sick in the last year of the story."""


@dataclass(frozen=True, kw_only=True)
class Planned:
    """One batch to be stuck, and what will become of it.

    `trays` is of trays, of rows in a bed, or of 18 pots; `row` which row of mother plants the
    cuttings come from, counted from 0.
    """

    stuck_on: date
    habit: Habit
    trays: int
    gaps: int
    stuck: int
    hormone: str
    mix: str
    row: int
    by: DemoPerson
    fate: Fate
    key: str


@dataclass(frozen=True, kw_only=True)
class Calamity:
    """Something that befell a bench on a day: all batches on it up to an age in days."""

    on: date
    bench: str
    oldest: int
    share: float
    cause: str


@dataclass(frozen=True, kw_only=True)
class Span:
    """The days of the story, and what befell in them."""

    first: date
    today: date
    befallen: tuple[Calamity, ...]

    def days_before(self, day: date) -> int:
        """Return how many days of the story were over on a day."""
        return (day - self.first).days


def calamities(today: date) -> tuple[Calamity, ...]:
    """Return what went wrong in the two years before today."""
    last_july = _last(today, month=7, day=11)
    last_march = _last(today, month=3, day=8)
    october = _last(today, month=10, day=20)
    earlier = date(october.year - 1, october.month, october.day)
    return (
        Calamity(
            on=last_july, bench="Mist bench 2", oldest=14, share=0.35, cause="mist or power failure"
        ),
        Calamity(on=earlier, bench="Fog house, left", oldest=40, share=0.22, cause="grey mould"),
        Calamity(
            on=last_march, bench="Bedding bench", oldest=18, share=0.14, cause="sciarid larvae"
        ),
    )


def plan_batches(today: date, *, seed: int, days: int = STORY_DAYS) -> tuple[Planned, ...]:
    """Return every batch of so many days before today, by day."""
    span = Span(first=today - timedelta(days=days), today=today, befallen=calamities(today))
    planned = [
        _planned(habit, day, place=place, span=span, dice=dice)
        for habit in read_habits()
        for year in range(span.first.year - 1, today.year + 1)
        for place, day, dice in _days(habit, year, seed=seed)
        if span.first <= day < today
    ]
    return tuple(sorted(planned, key=lambda batch: (batch.stuck_on, batch.key)))


def _last(today: date, *, month: int, day: int) -> date:
    """Return the last day of this name before today."""
    this_year = date(today.year, month, day)
    return this_year if this_year < today else date(today.year - 1, month, day)


def _days(habit: Habit, year: int, *, seed: int) -> Iterator[tuple[int, date, Random]]:
    """Yield the days of the season that begins in this year, each with the dice of its batch."""
    for place in range(habit.batches):
        dice = Random(f"{seed}/{habit.name}/{year}/{place}")
        # Season's middle is the likeliest, as two throws of the dice add up.
        spot = (dice.random() + dice.random()) / 2 * len(habit.months)
        month = habit.months[int(spot)]
        day = date(year + (month < habit.months[0]), month, 1 + int(spot % 1 * 28))
        yield place, _to_working_day(day), dice


def is_working_day(day: date) -> bool:
    """Return whether somebody works: no weekends, nor from Christmas Eve to New Year."""
    holiday = (day.month, day.day) >= (12, 24) or (day.month, day.day) == (1, 1)
    return day.weekday() < _SATURDAY and not holiday


def _to_working_day(day: date) -> date:
    while not is_working_day(day):
        day -= timedelta(days=1)
    return day


def _planned(habit: Habit, day: date, *, place: int, span: Span, dice: Random) -> Planned:
    trays = dice.randint(*habit.trays)
    gaps = dice.choice((0, 0, 0, 2, 4, 6, 9, 12)) if habit.container in _PLUGS else 0
    stuck = _number(habit.container, trays=trays, gaps=gaps)
    by = _person(dice, days=span.days_before(day))
    hormone = place % len(habit.hormones)
    mix = place // len(habit.hormones) % len(habit.mixes)
    row = dice.randrange(max(1, habit.stock_plants))
    shift = (
        _skill(by, days=span.days_before(day))
        + _season(habit, day.month)
        + hormone * habit.hormone_shift
        + mix * habit.mix_shift
        + _health(habit, row, days_ago=(span.today - day).days)
    )
    fate = draw_fate(
        dice,
        stuck=stuck,
        rate=shifted(habit.rate, by=shift),
        weeks=habit.weeks,
        lost_to=habit.lost_to,
        mishap=_mishap(habit.bench, day, span.befallen),
    )
    return Planned(
        stuck_on=day,
        habit=habit,
        trays=trays,
        gaps=gaps,
        stuck=stuck,
        hormone=habit.hormones[hormone],
        mix=habit.mixes[mix],
        row=row,
        by=by,
        fate=fate,
        key=f"{habit.name}/{day}/{place}",
    )


def _number(container: str, *, trays: int, gaps: int) -> int:
    if container in _PLUGS:
        return trays * _PLUGS[container] - gaps
    if container == "Lined out":
        return trays * _ROW_OF_A_BED
    return trays * _POTS_TO_A_TRAY * _CUTTINGS_TO_A_POT


def _person(dice: Random, *, days: int) -> DemoPerson:
    here = [(person, weight) for person, weight in _WHO if person.from_day <= days]
    people, weights = [person for person, _ in here], [weight for _, weight in here]
    return dice.choices(people, weights=weights)[0]


def _skill(by: DemoPerson, *, days: int) -> float:
    """Return by how much a person's hand shifts the log-odds; beginners learn."""
    learnt = min(1.0, (days - by.from_day) / _LEARNT_AFTER_DAYS)
    return by.skill + (_LEARNT_SHIFT * learnt if by.skill < 0 else 0.0)


def _health(habit: Habit, row: int, *, days_ago: int) -> float:
    sick = habit.name == SICK_PLANT and row == 1 and days_ago < SICK_FOR_DAYS
    return _SICK_SHIFT if sick else 0.0


def _season(habit: Habit, month: int) -> float:
    if month == habit.months[-1]:
        return _LATE_SHIFT
    return _EARLY_SHIFT if month == habit.months[0] and len(habit.months) > 2 else 0.0


def _mishap(bench: str, day: date, befallen: tuple[Calamity, ...]) -> Mishap | None:
    for calamity in befallen:
        age = (calamity.on - day).days
        if calamity.bench == bench and 0 <= age <= calamity.oldest:
            return Mishap(age=max(1, age), share=calamity.share, cause=calamity.cause)
    return None
