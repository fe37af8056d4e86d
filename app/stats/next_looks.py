"""When to look again at a cluster: what will have set in by when, and what waiting costs.

With m waiting at age t0, Q(t) = m E[p (S_G(t0) - S_G(t)) / (p S_G(t0) + (1 - p) S_H(t0))] is how
many are expected to have set in by age t and not been seen yet.
"""

from dataclasses import dataclass
from typing import Final

import numpy as np

from app.stats.onset_curves import log_not_yet
from app.stats.share_grids import Floats

DAYS_AHEAD: Final = 120
BUDGET: Final = 40.0
SHORTEST_GAP: Final = 4
LONGEST_GAP: Final = 28
LATE_AFTER: Final = 3
LATE_SHARE: Final = 0.65
FINISH_ITEMS: Final = 0.5
FINISH_SHARE: Final = 0.02


@dataclass(frozen=True, kw_only=True)
class Outlook:
    """What is expected of a cluster from its last count on.

    `new_by[d]` is the expected number newly set in d days after that count, `ever` all that
    will; `size` is the number it began with.
    """

    new_by: Floats
    ever: float
    size: float

    def due_after(self, *, budget: float = BUDGET) -> int:
        """Return the days after the last count at which the waiting adds up to the budget.

        Waiting is counted in item-days; the answer lies between 4 and 28 days.
        """
        waited = np.cumsum(self.new_by)
        reached = np.flatnonzero(waited >= budget)
        first = int(reached[0]) if len(reached) else LONGEST_GAP
        return min(max(first, SHORTEST_GAP), LONGEST_GAP)

    def late_after(self, *, budget: float = BUDGET) -> int:
        """Return the days after the last count at which the look is late.

        Late is at least three days after due, once 65 % of what will still set in has, or three
        days after the longest gap.
        """
        earliest = self.due_after(budget=budget) + LATE_AFTER
        share = self.new_by / max(self.ever, 1e-12)
        reached = np.flatnonzero(share >= LATE_SHARE)
        first = int(reached[0]) if len(reached) else DAYS_AHEAD
        return min(max(first, earliest), LONGEST_GAP + LATE_AFTER)

    def time_to_finish(self) -> bool:
        """Return whether hardly anything more is expected: under 0.5 items or 2 % of the size."""
        return self.ever < max(FINISH_ITEMS, FINISH_SHARE * self.size)


def outlook(
    *,
    waiting: float,
    age: float,
    size: float,
    share_masses: Floats,
    shares: Floats,
    onset_masses: Floats,
    log_medians: Floats,
    scale: float,
    still: float,
) -> Outlook:
    """Return the outlook from the last count at `age` days.

    `share_masses` over `shares` and `onset_masses` over `log_medians` are what is known of the
    cluster with its own counts up to the last but for the waiting ones, which are weighed in
    here; `still` is S_H(age), 0 to 1.
    """
    now = np.exp(log_not_yet(np.array([age]), log_medians, scale=scale))[0]
    stays = shares[:, None] * now[None, :] + (1.0 - shares[:, None]) * still
    logs = np.log(np.maximum(share_masses, 1e-300))[:, None] + waiting * np.log(
        np.maximum(stays, 1e-300)
    )
    logs = logs + np.log(np.maximum(onset_masses, 1e-300))[None, :]
    joint = np.exp(logs - logs.max())
    joint /= joint.sum()
    rooters = (joint * shares[:, None] / np.maximum(stays, 1e-300)).sum(axis=0)
    days = (age + np.arange(DAYS_AHEAD + 1)).astype(np.float64)
    later = np.exp(log_not_yet(days, log_medians, scale=scale))
    new_by = waiting * ((now[None, :] - later) @ rooters)
    return Outlook(new_by=new_by, ever=float(waiting * (now @ rooters)), size=size)
