"""What was typed: a planned batch and its counts, as they go through the services."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date
from random import Random
from typing import Any, Final

from app.domain.batches import BatchEntry, SourceKind, SourceLine
from app.domain.check_entries import CheckEntry
from app.domain.cutting_types import Cut, CuttingType, Section
from app.domain.hormones import parse_hormone
from app.domain.outcomes import CheckKind, Ending, Loss
from app.domain.rooted_signs import usual_sign
from app.domain.typed_counts import RootedAs
from seed_demo.calendar import Planned
from seed_demo.places import BENCHES, SUPPLIERS

# From, to: length in centimetres, leaves left (common practice, no source).
_SHOOTS: Final[Mapping[CuttingType, tuple[float, float, int, int]]] = {
    CuttingType.SOFTWOOD: (5, 9, 2, 4),
    CuttingType.SEMI_RIPE: (8, 14, 3, 6),
    CuttingType.RIPEWOOD: (10, 15, 0, 0),
    CuttingType.HARDWOOD: (20, 28, 0, 0),
}
_PER_HOUR: Final = (170, 360)
_SAMPLE: Final = 10
_NOTES: Final = (
    "white roots at the base of most",
    "leaves dull, mist down to six seconds",
    "a few slow ones at the window end",
    "tips look good",
    "first yellow leaves, fed at half strength",
    "picked over, fallen leaves taken out",
)
_REASONS_TO_CLEAR: Final = (
    "bench needed",
    "sold as unrooted cuttings",
    "given to the college",
)


@dataclass(frozen=True, kw_only=True)
class Known:
    """The rows that a batch leans on, by id; stock plants by plant and row."""

    plants: Mapping[str, int]
    stock_plants: Mapping[tuple[str, int], int]
    benches: Mapping[str, int]
    containers: Mapping[str, int]
    mixes: Mapping[str, int]
    people: Mapping[str, int]


@dataclass(frozen=True, kw_only=True)
class Found:
    """What a count finds since the one before, and what it leaves."""

    rooted: int
    lost: tuple[Loss, ...]
    left: int
    rooted_so_far: int


def batch_entry(planned: Planned, *, known: Known, dice: Random) -> BatchEntry:
    """Return the entry of a batch as it was typed on the day it was stuck."""
    habit = planned.habit
    tray = habit.container.endswith("tray")
    low, high, fewest, most = _SHOOTS[habit.cutting_type]
    bench = next(bench for bench in BENCHES if bench.name == habit.bench)
    thrown_out = round(planned.stuck * dice.choice((0, 0, 0.01, 0.02, 0.04)))
    bought = habit.stock_plants == 0
    return BatchEntry(
        plant_name_id=known.plants[habit.name],
        stuck_on=planned.stuck_on,
        stuck=planned.stuck,
        sources=_sources(planned, known=known, dice=dice),
        trays=planned.trays if tray else None,
        per_tray=(planned.stuck + planned.gaps) // planned.trays if tray else None,
        gaps=planned.gaps if tray else None,
        taken_on=None if bought else planned.stuck_on,
        taken=None if bought else planned.stuck + thrown_out,
        thrown_out=None if bought else thrown_out,
        thrown_out_cause="too thin" if thrown_out and not bought else "",
        stored_hours=None if bought else float(dice.choice((0, 0, 1, 2, 3))),
        stuck_by_id=known.people[planned.by.name],
        **_hours(planned, bought=bought, dice=dice),
        cutting_type=habit.cutting_type,
        cut=Cut.NODAL if dice.random() < 0.8 else None,
        section=Section.TIP if habit.cutting_type is CuttingType.SOFTWOOD else None,
        length_cm=round(dice.uniform(low, high) * 2) / 2,
        leaves_left=dice.randint(fewest, most) if most else None,
        wounded=True if habit.cutting_type is CuttingType.RIPEWOOD else None,
        hormone=parse_hormone(planned.hormone),
        mix_version_id=known.mixes[planned.mix],
        container_id=known.containers[habit.container],
        per_place=None if habit.container == "Lined out" else 1 if tray else 3,
        placed="" if tray or habit.container == "Lined out" else "round the edge",
        cover=bench.cover,
        bottom_heat_c=bench.heat_c,
        bench_id=known.benches[bench.name],
    )


def _hours(planned: Planned, *, bought: bool, dice: Random) -> dict[str, Any]:
    """Return the hours of each step, in quarters."""
    hours = round(planned.stuck / dice.uniform(*_PER_HOUR) * 4) / 4 or 0.25
    return {
        "hours": hours,
        "gathered_hours": None if bought else max(0.25, round(hours * 2) / 4),
        "made_hours": max(0.25, round(hours * 3) / 4),
    }


def _sources(planned: Planned, *, known: Known, dice: Random) -> tuple[SourceLine, ...]:
    stock_plant_id = known.stock_plants.get((planned.habit.name, planned.row))
    if stock_plant_id is None:
        line = SourceLine(
            kind=SourceKind.BOUGHT_IN,
            supplier=dice.choice(SUPPLIERS),
            lot=f"{planned.stuck_on:%y%j}-{dice.randint(10, 99)}",
            condition=dice.choice(("fresh", "fresh", "a little wilted", "some yellow leaves")),
            number=planned.stuck,
        )
    else:
        line = SourceLine(
            kind=SourceKind.STOCK_PLANT, stock_plant_id=stock_plant_id, number=planned.stuck
        )
    return (line,)


def count_entry(
    planned: Planned,
    *,
    day: date,
    found: Found,
    first: bool,
    ending: Ending,
    checked_by_id: int,
    dice: Random,
) -> CheckEntry:
    """Return a full count as it was typed: new ones, all so far, or what is left."""
    typed_as = dice.choices(
        (RootedAs.NEW, RootedAs.SO_FAR, RootedAs.LEFT), weights=(0.7, 0.2, 0.1)
    )[0]
    typed = {
        RootedAs.NEW: found.rooted,
        RootedAs.SO_FAR: found.rooted_so_far,
        RootedAs.LEFT: found.left,
    }[typed_as]
    habit = planned.habit
    slow = habit.cutting_type is not CuttingType.SOFTWOOD
    return CheckEntry(
        checked_on=day,
        rooted=typed,
        typed_as=typed_as,
        lost=found.lost,
        callused=found.left * 3 // 5 if first and slow and dice.random() < 0.4 else None,
        ending=ending,
        ending_cause=dice.choice(_REASONS_TO_CLEAR) if ending is Ending.CLEARED_UNROOTED else "",
        rooted_means=usual_sign(habit.cutting_type, plug=habit.container.endswith("plug tray")),
        medium_c=_temperature(habit.bench, dice),
        humidity_percent=float(dice.randint(82, 96)) if dice.random() < 0.15 else None,
        note=dice.choice(_NOTES) if dice.random() < 0.12 else "",
        checked_by_id=checked_by_id,
    )


def sample_entry(
    planned: Planned, *, day: date, unrooted: int, left: int, checked_by_id: int, dice: Random
) -> CheckEntry:
    """Return a sample of ten: how many of them had rooted; `unrooted` of `left` still had not."""
    looked = min(_SAMPLE, left)
    rooted = sum(dice.random() >= unrooted / left for _ in range(looked))
    return CheckEntry(
        checked_on=day,
        kind=CheckKind.SAMPLE,
        looked=looked,
        rooted=rooted,
        rooted_means=usual_sign(planned.habit.cutting_type),
        checked_by_id=checked_by_id,
    )


def missing_entry(entry: CheckEntry, *, found: Found, missing: int) -> CheckEntry:
    """Return the same count with some of the unrooted not to be found."""
    return replace(
        entry,
        rooted=found.rooted,
        typed_as=RootedAs.NEW,
        callused=None,
        unrooted_counted=found.left - missing,
        missing_confirmed=missing,
    )


def _temperature(bench_name: str, dice: Random) -> float | None:
    heat = next(bench.heat_c for bench in BENCHES if bench.name == bench_name)
    if heat is None or dice.random() < 0.6:
        return None
    return round(heat + dice.uniform(-1.5, 1.5), 1)
