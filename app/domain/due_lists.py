"""Lists of what wants a look: by the bench it stands on, or by what waiting costs."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from itertools import groupby
from typing import Final

from app.domain.due import DueFor, DueState
from app.domain.due_outlooks import KeptOutlook
from app.domain.outcomes import Standing

NO_BENCH: Final = "No bench recorded"
_WANTED: Final = frozenset({DueState.LATE, DueState.DUE_TODAY})


@dataclass(frozen=True, kw_only=True)
class DueBatch:
    """One batch that wants a look, with everything its line says.

    `position` is its place in the order on its bench, None where nobody set it.
    `also_on` names further benches where some of its trays stand. `urgent` gives reasons in
    words, none if it is not. `standing` is that after the last count. Where earlier batches taught
    what to expect, `outlook` holds it: `cost` is what waiting costs by the day of the list, in
    days stood by rooted cuttings beyond the budget, and `basis` says what that rests on.
    """

    batch_id: int
    code: str
    plant: str
    cutting_type: str
    hormone: str
    standing: Standing
    stuck_on: date
    due_on: date
    late_on: date
    next_look_on: date
    next_count_on: date
    age_days: int
    state: DueState
    wants: DueFor
    urgent: tuple[str, ...]
    expect: str
    bench_id: int | None
    bench: str
    walking_order: int = 0
    position: int | None = None
    also_on: tuple[str, ...] = ()
    outlook: KeptOutlook | None = None
    cost: float | None = None
    basis: str = ""

    @property
    def finish(self) -> bool:
        """Whether hardly anything more is expected."""
        return self.outlook is not None and self.outlook.finish


@dataclass(frozen=True, kw_only=True)
class DueBench:
    """The batches of one bench that want a look, urgent ones first, then by due day."""

    bench_id: int | None
    name: str
    batches: tuple[DueBatch, ...]

    def number(self, state: DueState) -> int:
        """Return how many of them are in this state."""
        return sum(1 for batch in self.batches if batch.state is state)


@dataclass(frozen=True, kw_only=True)
class DueList:
    """What wants a look on a day and in the seven after it; benches come in walking order.

    `late`, `due_today` and `coming` count all of them, even those that a cut list left out;
    `left_out` is how many that are, the least late ones.
    """

    on: date
    late: int
    due_today: int
    coming: int
    benches: tuple[DueBench, ...]
    left_out: int = 0
    next_due_on: date | None = None

    @property
    def batches(self) -> tuple[DueBatch, ...]:
        """All of them in the order they stand."""
        return tuple(batch for bench in self.benches for batch in bench.batches)

    @property
    def wanted(self) -> tuple[DueBatch, ...]:
        """Those that are late or due, in the order they stand."""
        return tuple(batch for batch in self.batches if batch.state in _WANTED)

    def costs_most_first(self, state: DueState) -> tuple[DueBatch, ...]:
        """Return those of a state, urgent ones first, then by what waiting costs.

        Where nothing was learned, the longest due come last but in their order.
        """
        mine = [batch for batch in self.batches if batch.state is state]
        return tuple(sorted(mine, key=_by_cost))


def by_bench(batches: Iterable[DueBatch]) -> tuple[DueBench, ...]:
    """Return the batches by the first bench each stands on; those without a bench come last.

    On a bench urgent ones come first, then in the order they stand where that was set, then as
    they came.
    """

    def walk(batch: DueBatch) -> tuple[bool, int, str, int]:
        return (
            batch.bench_id is None,
            batch.walking_order,
            batch.bench or NO_BENCH,
            batch.bench_id or 0,
        )

    urgent_first = sorted(
        batches,
        key=lambda batch: (not batch.urgent, batch.position is None, batch.position or 0),
    )
    ordered = sorted(urgent_first, key=walk)
    return tuple(
        DueBench(bench_id=walked[3] or None, name=walked[2], batches=tuple(group))
        for walked, group in groupby(ordered, key=walk)
    )


def _by_cost(batch: DueBatch) -> tuple[bool, bool, float, date, int]:
    return (
        not batch.urgent,
        batch.cost is None,
        -(batch.cost or 0.0),
        batch.due_on,
        batch.batch_id,
    )
