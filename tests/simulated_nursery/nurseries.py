"""Batches grown and counted, as the log would show them today, with the truth beside."""

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.random import Generator

from app.stats.histories import Histories
from app.stats.share_grids import Floats
from app.stats.trees import Ints
from tests.simulated_nursery.batches import Group, GrownBatch, Habits, grow
from tests.simulated_nursery.looks import Counted, Looks, check_days, counted, given_up


@dataclass(frozen=True, kw_only=True)
class SimulatedBatches:
    """The batches as the log would show them today, with the truth beside.

    `group[b]` is the batch's group, `stuck_ago[b]` its age in days, `will_root[b]` how many of
    it would root in the end.
    """

    histories: Histories
    group: Ints
    stuck_ago: Floats
    will_root: Floats = field(repr=False)


def simulate(
    groups: Sequence[Group],
    *,
    group_of: Ints,
    stuck_ago: Floats,
    rng: Generator,
    habits: Habits | None = None,
    rates: Floats | None = None,
) -> SimulatedBatches:
    """Return one batch for each entry of `group_of`, stuck so many days before today.

    `rates` gives each batch a mean rate of its own (0 to 1) instead of its group's.
    """
    chosen = habits or Habits()
    looks = Looks()
    will_root = []
    for place, (group, ago) in enumerate(zip(group_of, stuck_ago, strict=True)):
        rate = None if rates is None else float(rates[place])
        batch = grow(groups[group], habits=chosen, rng=rng, rate=rate)
        looks.add(_as_logged(batch, ago=int(ago), habits=chosen, rng=rng))
        will_root.append(batch.will_root)
    return SimulatedBatches(
        histories=looks.histories(),
        group=np.asarray(group_of),
        stuck_ago=np.asarray(stuck_ago, dtype=float),
        will_root=np.array(will_root, dtype=float),
    )


def _as_logged(batch: GrownBatch, *, ago: int, habits: Habits, rng: Generator) -> Counted:
    end = habits.write_off_day
    cleared = rng.random() < habits.cleared_share
    if cleared:
        end = int(rng.integers(habits.checks.first[1], habits.write_off_day))
    days = check_days(
        habits.checks, until=end, rooting_days=batch.rooting_days, size=batch.size, rng=rng
    )
    seen = counted(
        [day for day in [*days, end] if day <= ago],
        size=batch.size,
        rooting_days=batch.rooting_days,
        dying_days=batch.dying_days,
    )
    # Cleared unrooted is neither rooted nor failed: what waited then stays unknown.
    return given_up(seen) if seen.last == end and not cleared else seen
