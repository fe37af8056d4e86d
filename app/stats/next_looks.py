"""When to look again at a cluster: what will have set in by when, and what waiting costs.

With m waiting at age t0, Q(t) = m E[p (S_G(t0) - S_G(t)) / (p S_G(t0) + (1 - p) S_H(t0))] is how
many are expected to have set in by age t and not been seen yet.
"""

from dataclasses import dataclass
from typing import Final

import numpy as np
from scipy.special import betaln, xlog1py, xlogy

from app.stats.look_rules import (
    BUDGET,
    FINISH_ITEMS,
    FINISH_SHARE,
    LATE_AFTER,
    LATE_SHARE,
    LONGEST_GAP,
    SHORTEST_GAP,
)
from app.stats.onset_curves import log_not_yet
from app.stats.share_grids import Floats, ShareGrid

DAYS_AHEAD: Final = 120
# Speeds of less than this part of the likeliest one's mass change nothing.
_NEGLIGIBLE: Final = 1e-6
_CHANCES: Final = ShareGrid(bins=200)


@dataclass(frozen=True, kw_only=True)
class Sample:
    """Some waiting items looked at since the last count: at what age, how many, and set in."""

    age: float
    looked: float
    set_in: float


@dataclass(frozen=True, kw_only=True)
class Known:
    """What is known of a cluster that waits, `waiting` items of it, at its last count.

    `share_masses` over `shares`, `onset_masses` over `log_medians` and `still_masses` over `still`
    (S_H(age), 0 to 1) take in everything seen but that the waiting ones still wait; that is
    weighed in here. `age` is in days, `size` the number the cluster began with. `samples` were
    looked at since; they are no counts and only say how far the waiting ones have come.
    """

    waiting: float
    age: float
    size: float
    shares: Floats
    share_masses: Floats
    log_medians: Floats
    onset_masses: Floats
    scale: float
    still: Floats
    still_masses: Floats
    samples: tuple[Sample, ...] = ()


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

        Waiting is the area under `new_by` in item-days, so that what sets in during a day has
        waited half of it; the answer lies between 4 and 28 days.
        """
        waited = np.cumsum(self.new_by) - (self.new_by + self.new_by[0]) / 2.0
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


def outlook(known: Known) -> Outlook:
    """Return what is expected from the last count on."""
    joint = _Joint.of(known)
    per_median = (joint.masses * joint.shares / joint.stays).sum(axis=(0, 1))
    days = (known.age + np.arange(DAYS_AHEAD + 1)).astype(np.float64)
    later = np.exp(log_not_yet(days, log_medians=joint.log_medians, scale=known.scale))
    new_by = known.waiting * ((joint.not_yet[None, :] - later) @ per_median)
    ever = float(known.waiting * (joint.not_yet @ per_median))
    return Outlook(new_by=new_by, ever=ever, size=known.size)


def rest_masses(known: Known, *, until: float | None = None) -> Floats:
    """Return the probability that 0, 1, .. m of the m waiting items will still set in.

    `waiting` is a whole number here. Each waiting item's chance is p S_G / (p S_G + (1 - p) S_H);
    given that chance they are independent. With `until`, an age in days, only those count that set
    in by then.
    """
    joint = _Joint.of(known)
    still_to_come = joint.not_yet
    if until is not None:
        age = np.array([max(until, known.age)])
        later = log_not_yet(age, log_medians=joint.log_medians, scale=known.scale)[0]
        still_to_come = joint.not_yet - np.exp(later)
    chances = joint.shares * still_to_come[None, None, :] / joint.stays
    weights, _ = np.histogram(chances, bins=_CHANCES.edges, weights=joint.masses)
    waiting = round(known.waiting)
    number = np.arange(waiting + 1)
    choices = -betaln(number + 1.0, waiting - number + 1.0) - np.log(waiting + 1.0)
    x = _CHANCES.middles[:, None]
    logs = choices + xlogy(number, x) + xlog1py(waiting - number, -x)
    masses = weights @ np.exp(logs)
    return np.asarray(masses / masses.sum())


@dataclass(frozen=True, kw_only=True)
class _Joint:
    """Masses of (S_H, share, log median) together, with what goes into them on the same axes."""

    masses: Floats
    shares: Floats
    stays: Floats
    not_yet: Floats
    log_medians: Floats

    @classmethod
    def of(cls, known: Known) -> "_Joint":
        kept = known.onset_masses > _NEGLIGIBLE * known.onset_masses.max()
        medians = known.log_medians[kept]
        not_yet = np.exp(
            log_not_yet(np.array([known.age]), log_medians=medians, scale=known.scale)
        )[0]
        shares = known.shares[None, :, None]
        stays = shares * not_yet + (1.0 - shares) * known.still[:, None, None]
        stays = np.maximum(stays, 1e-300)
        logs = known.waiting * np.log(stays) + _logs(known.onset_masses[kept])
        logs += _logs(known.share_masses)[None, :, None]
        logs += _logs(known.still_masses)[:, None, None]
        for sample in known.samples:
            logs += _sample_logs(sample, medians, known.scale, shares, not_yet, stays)
        masses = np.exp(logs - logs.max())
        return cls(
            masses=masses / masses.sum(),
            shares=shares,
            stays=stays,
            not_yet=not_yet,
            log_medians=medians,
        )


def _sample_logs(
    sample: Sample,
    medians: Floats,
    scale: float,
    shares: Floats,
    not_yet: Floats,
    stays: Floats,
) -> Floats:
    """Log-likelihood of a sample: each waiting item looked at had set in since the last count
    with chance p (S_G(t0) - S_G(t)) / (p S_G(t0) + (1 - p) S_H(t0)).
    """
    later = np.exp(log_not_yet(np.array([sample.age]), log_medians=medians, scale=scale))[0]
    chance = np.clip(shares * (not_yet - later) / stays, 1e-12, 1.0 - 1e-12)
    return np.asarray(
        xlogy(sample.set_in, chance) + xlog1py(sample.looked - sample.set_in, -chance)
    )


def _logs(masses: Floats) -> Floats:
    return np.asarray(np.log(np.maximum(masses, 1e-300)))
