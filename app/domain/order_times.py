"""How long cuttings of an order take to root: learned, from the method card, or assumed."""

from dataclasses import dataclass, field, replace
from enum import StrEnum
from math import hypot, log
from typing import Final

import numpy as np

from app.domain.nursery_fits import START_ONSET_SDS, NurseryFit
from app.stats.new_onsets import set_in_share
from app.stats.onset_curves import log_not_yet
from app.stats.onset_trees import LOG_MEDIANS, START_MEDIAN, START_SCALE, normal_kernel
from app.stats.share_grids import Floats

LAST_DAY: Final = 730
LATEST_SHARE: Final = 0.9
_EVERY: Final = -1
_DAYS_A_WEEK: Final = 7.0
_SHARED_EDGES: Final = np.array([0.02, 0.1, 0.25, 0.5, 0.7, 0.83, 0.92, 0.97, 0.992])
_OWN_STEPS: Final = np.linspace(-3.5, 3.5, 15)


class TimesRestOn(StrEnum):
    """What the days to root of an order rest on."""

    TYPE = "genus and type"
    GENUS = "genus"
    CARD = "method card"
    NURSERY = "whole nursery"
    ASSUMED = "assumed"


@dataclass(frozen=True, kw_only=True)
class CardWeeks:
    """Weeks to root as a method card gives them, with where they come from."""

    low: float
    high: float
    standing: str


@dataclass(frozen=True, kw_only=True)
class TimeBasis:
    """Masses of the group's log median to root, and how batches and cuttings spread round it."""

    rests_on: TimesRestOn
    finished: int
    masses: Floats = field(repr=False)
    scale: float
    batch_sd: float
    card: CardWeeks | None = None

    def in_time_share(self, days: float) -> float:
        """Return the share of those that root that have by `days` after sticking, 0 to 1."""
        if days <= 0:
            return 0.0
        shares = set_in_share(log(days) - LOG_MEDIANS, scale=self.scale, cluster_sd=self.batch_sd)
        return float(self.masses @ shares)

    def days_until(self, share: float = LATEST_SHARE) -> int:
        """Return the whole days by which this share of those that root have; at most 730."""
        low, high = 1, LAST_DAY
        while low < high:
            middle = (low + high) // 2
            low, high = (low, middle) if self.in_time_share(middle) >= share else (middle + 1, high)
        return low

    def states(self, days: float) -> tuple[Floats, Floats, Floats]:
        """Return shares rooted by `days`, (group's states, batches' states), and both masses.

        How fast the group is holds for all its batches together, each batch has its own speed
        round it.
        """
        medians, shared = self._shared_states()
        own = np.exp(-0.5 * _OWN_STEPS**2)
        own /= own.sum()
        if days <= 0:
            return np.zeros((len(medians), len(own))), shared, own
        speeds = (medians[:, None] + self.batch_sd * _OWN_STEPS).ravel()
        later = log_not_yet(np.array([float(days)]), log_medians=speeds, scale=self.scale)[0]
        return 1.0 - np.exp(later).reshape(len(medians), len(own)), shared, own

    def _shared_states(self) -> tuple[Floats, Floats]:
        """Return a few log medians of the group and their masses, the tails by themselves.

        Each stands at the mean of the grid's masses it takes the place of.
        """
        middles = np.cumsum(self.masses) - self.masses / 2.0
        state = np.searchsorted(_SHARED_EDGES, middles)
        masses = np.bincount(state, weights=self.masses)
        sums = np.bincount(state, weights=self.masses * LOG_MEDIANS)
        filled = masses > 0.0
        shared = masses[filled] / masses[filled].sum()
        return np.asarray(sums[filled] / masses[filled]), np.asarray(shared)


def time_basis(
    fit: NurseryFit | None, *, genus: int, cutting_type: int | None, card: CardWeeks | None
) -> TimeBasis:
    """Return the days to root of a genus (the fit's numbers), leaning on what is nearest.

    Own batches of the genus and type come first, then those of the genus, then the weeks of the
    method card: another genus says less of this one than its card does.
    """
    batch, kind, others = fit.onset_sds if fit else START_ONSET_SDS
    assumed = TimeBasis(
        rests_on=TimesRestOn.ASSUMED,
        finished=0,
        masses=_round(log(START_MEDIAN), hypot(kind, others)),
        scale=fit.onset_scale if fit else START_SCALE,
        batch_sd=batch,
    )
    learned = _learned(fit, genus=genus, cutting_type=cutting_type, kind_sd=kind)
    if learned is not None:
        rests_on, finished, masses = learned
        return replace(assumed, rests_on=rests_on, finished=finished, masses=masses)
    if card is not None:
        middle = log(card.low * card.high) / 2.0 + log(_DAYS_A_WEEK)
        masses = _round(middle, kind)
        return replace(assumed, rests_on=TimesRestOn.CARD, masses=masses, card=card)
    if fit is not None and fit.may_forecast:
        whole = fit.group_times(genus=0, cutting_type=_EVERY)
        masses = np.asarray(whole.masses @ normal_kernel(hypot(kind, others)))
        return replace(
            assumed, rests_on=TimesRestOn.NURSERY, finished=whole.finished, masses=masses
        )
    return assumed


def _learned(
    fit: NurseryFit | None, *, genus: int, cutting_type: int | None, kind_sd: float
) -> tuple[TimesRestOn, int, Floats] | None:
    if fit is None or not fit.may_forecast:
        return None
    found = {(times.genus, times.cutting_type): times for times in fit.times}
    own = found.get((genus, _EVERY if cutting_type is None else cutting_type))
    if own is not None and own.finished and cutting_type is not None:
        return TimesRestOn.TYPE, own.finished, own.masses
    whole = found.get((genus, _EVERY))
    if whole is None or not whole.finished:
        return None
    # Any type of the genus: types are faster or slower than the genus as a whole.
    return TimesRestOn.GENUS, whole.finished, np.asarray(whole.masses @ normal_kernel(kind_sd))


def _round(middle: float, sd: float) -> Floats:
    masses = np.exp(-0.5 * ((LOG_MEDIANS - middle) / sd) ** 2)
    return np.asarray(masses / masses.sum())
