"""Moving a batch, or some of its trays, from bench to bench: what is right to say there."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from app.domain.days import day_long
from app.domain.problems import NotAccepted


@dataclass(frozen=True, kw_only=True)
class MoveEntry:
    """A move as entered: to which bench (None: off the benches), on which day.

    With `trays` only so many of them are moved, from the bench `from_bench_id` where the batch
    stands on several.
    """

    to_bench_id: int | None
    moved_on: date
    trays: int | None = None
    from_bench_id: int | None = None


@dataclass(frozen=True, kw_only=True)
class Stand:
    """A stay of a batch that is going on; `trays` is None for the whole batch."""

    stay_id: int
    bench_id: int
    bench: str
    from_on: date
    trays: int | None


def stands_moved(
    entry: MoveEntry,
    *,
    stands: Iterable[Stand],
    trays: int | None,
    stuck_on: date,
    today: date,
) -> tuple[Stand, ...]:
    """Return which stays the move ends: all of a whole batch's, one where only trays go.

    `trays` is how many trays the batch has, None where nobody knows.

    Raises:
        NotAccepted: the day does not fit, the batch stands there already, or so many trays do not
            stand where they are moved from.
    """
    current = tuple(stands)
    _refuse_odd_day(entry, current, stuck_on=stuck_on, today=today)
    if entry.trays is None:
        if [stand.bench_id for stand in current] == [entry.to_bench_id]:
            raise NotAccepted.at("bench", f"It stands on {current[0].bench} already.")
        if not current and entry.to_bench_id is None:
            raise NotAccepted.at("bench", "It stands on no bench: choose one to put it on.")
        return current
    stand = _stand_named(entry, current)
    there = trays if stand.trays is None else stand.trays
    if there is None:
        sentence = "How many trays the batch has is not recorded: move it whole, or correct it."
        raise NotAccepted.at("trays", sentence)
    if not 1 <= entry.trays < there:
        sentence = f"{there:,} trays stand on {stand.bench}: give from 1 to {there - 1:,}, or none."
        raise NotAccepted.at("trays", sentence)
    if entry.to_bench_id == stand.bench_id:
        raise NotAccepted.at("bench", f"They stand on {stand.bench} already.")
    return (stand,)


def _refuse_odd_day(
    entry: MoveEntry, stands: tuple[Stand, ...], *, stuck_on: date, today: date
) -> None:
    since = max((stand.from_on for stand in stands), default=stuck_on)
    if entry.moved_on > today:
        sentence = f"{day_long(entry.moved_on)} is still to come: give the day it was moved."
        raise NotAccepted.at("moved_on", sentence)
    if entry.moved_on < since:
        sentence = f"It stands there since {day_long(since)}: give that day or a later one."
        raise NotAccepted.at("moved_on", sentence)


def _stand_named(entry: MoveEntry, stands: tuple[Stand, ...]) -> Stand:
    if not stands:
        raise NotAccepted.at("trays", "It stands on no bench: put the whole batch on one first.")
    fitting = [stand for stand in stands if entry.from_bench_id in {None, stand.bench_id}]
    if len(fitting) != 1:
        raise NotAccepted.at("from_bench", "Choose the bench from which the trays are moved.")
    return fitting[0]
