"""How many to begin with, so that enough are there in the end with a wanted chance.

So many places of `per_place` items are shared out evenly among new clusters. Each cluster has its
own share of successes, scattered round the group's by a beta distribution, and its own chance that
a success survives and comes in time. A place is good with `enough` of its items successful. Of
the number of good places the mean and the variance are exact, its shape is a beta distribution
with half a place as correction, or a beta-binomial for few places.
"""

from collections.abc import Callable
from dataclasses import dataclass, field
from math import ceil
from typing import Final

import numpy as np
from scipy.special import betainc, betaln, gammaln
from scipy.stats import betabinom, binom

from app.stats.joint_shares import JointShares
from app.stats.share_grids import Floats, beta_kernel

FEW_PLACES: Final = 60
# Beyond so many times the number wanted there is no plan.
MOST_TIMES: Final = 10
_EXACT_UP_TO: Final = 2_000
_NEGLIGIBLE: Final = 1e-6
_TINY: Final = 1e-9
_LEAST_CORRELATION: Final = 1e-6


@dataclass(frozen=True, kw_only=True)
class Survival:
    """The chance that a success counts in the end: (shared states, clusters' own states).

    `chances[s, c]` is the chance in shared state s and own state c; `shared` and `own` are the
    masses of the states, each summing to 1. A shared state holds for all clusters together.
    """

    chances: Floats
    shared: Floats
    own: Floats

    @classmethod
    def certain(cls, chance: float = 1.0) -> "Survival":
        """Return the survival with one chance for every cluster."""
        one = np.ones(1)
        return cls(chances=np.array([[chance]]), shared=one, own=one)

    @property
    def mean(self) -> float:
        """The mean chance."""
        return float(self.shared @ self.chances @ self.own)


@dataclass(frozen=True, kw_only=True)
class GoodPlaces:
    """What is expected of a new cluster's places, in states with masses that sum to 1.

    `means` is the mean share of good places in each state, `scatters` the variance of clusters'
    own shares round it.
    """

    masses: Floats = field(repr=False)
    means: Floats = field(repr=False)
    scatters: Floats = field(repr=False)

    @property
    def mean(self) -> float:
        """The mean share of good places."""
        return float(self.masses @ self.means)


def good_places(
    shares: JointShares, *, survival: Survival, per_place: int = 1, enough: int = 1
) -> GoodPlaces:
    """Return what is expected of places with `per_place` items of which `enough` must succeed."""
    rows = [
        _moments(shares, place, survival, per_place=per_place, enough=enough)
        for place in range(len(shares.correlations))
    ]
    means = np.stack([mean for mean, _ in rows])
    seconds = np.stack([second for _, second in rows])
    masses = survival.shared[None, :, None] * shares.masses[:, None, :]
    kept = masses > _NEGLIGIBLE * masses.max()
    return GoodPlaces(
        masses=masses[kept] / masses[kept].sum(),
        means=means[kept],
        scatters=np.maximum(seconds[kept] - means[kept] ** 2, 0.0),
    )


def chance_of_enough(places: GoodPlaces, *, wanted: int, number: int, clusters: int) -> float:
    """Return P(at least `wanted` good of `number` places) in so many equal clusters, 0 to 1."""
    if wanted <= 0:
        return 1.0
    if number < wanted:
        return 0.0
    chances = _chances(places, wanted=wanted, number=number, clusters=min(clusters, number))
    return float(places.masses @ chances)


def smallest_number(
    places: GoodPlaces, *, wanted: int, sure: float, clusters: int, most: int | None = None
) -> int | None:
    """Return the fewest places with P(at least `wanted`) >= `sure`.

    None where more than `most` would be needed, ten times the number wanted if left out.
    """
    top = MOST_TIMES * wanted if most is None else most

    def enough(number: int) -> bool:
        chance = chance_of_enough(places, wanted=wanted, number=number, clusters=clusters)
        return chance >= sure - _TINY

    return least_number(enough, low=wanted, high=top)


def expected_good(
    places: GoodPlaces, *, number: int, clusters: int, levels: tuple[float, ...]
) -> tuple[int, ...]:
    """Return quantiles of the number of good places: the least k with P(X <= k) >= level."""

    def quantile(level: float) -> int:
        def reached(count: int) -> bool:
            more = chance_of_enough(places, wanted=count + 1, number=number, clusters=clusters)
            return 1.0 - more >= level

        return least_number(reached, low=0, high=number) or 0

    return tuple(quantile(level) for level in levels)


def smallest_binomial(*, wanted: int, share: float, sure: float) -> int:
    """Return the fewest items of which `wanted` succeed with chance `sure`, each with `share`.

    Every item for itself, the share known: the smallest n with P(Binomial(n, share) >= wanted)
    >= sure. `share` is above 0 and at most 1.
    """
    found = least_number(
        lambda n: bool(binom.sf(wanted - 1, n, share) >= sure - _TINY),
        low=wanted,
        high=_past(wanted, share),
    )
    return wanted if found is None else found


def smallest_beta_binomial(
    *, wanted: int, a: float, b: float, sure: float, most: int | None = None
) -> int | None:
    """Return the fewest items where the share itself is only known as Beta(a, b).

    None where more than `most`, ten times the number wanted if left out. Exact up to two thousand
    wanted, beyond that by the beta distribution of `chance_of_enough`.
    """
    mean = a / (a + b)
    known = GoodPlaces(
        masses=np.ones(1),
        means=np.array([mean]),
        scatters=np.array([mean * (1.0 - mean) / (a + b + 1.0)]),
    )

    def chance(n: int) -> float:
        if wanted <= _EXACT_UP_TO:
            return float(betabinom.sf(wanted - 1, n, a, b))
        return chance_of_enough(known, wanted=wanted, number=n, clusters=1)

    return least_number(
        lambda n: chance(n) >= sure - _TINY,
        low=wanted,
        high=MOST_TIMES * wanted if most is None else most,
    )


def beta_of(*, mean: float, variance: float) -> tuple[float, float]:
    """Return (a, b) of the beta distribution with this mean (inside 0 to 1) and variance."""
    concentration = mean * (1.0 - mean) / variance - 1.0
    return mean * concentration, (1.0 - mean) * concentration


def _moments(
    shares: JointShares, place: int, survival: Survival, *, per_place: int, enough: int
) -> tuple[Floats, Floats]:
    """Return means and mean squares of clusters' good shares, (shared states, bins)."""
    rho = float(shares.correlations[place])
    x = shares.grid.middles
    if per_place == 1:
        first = survival.chances @ survival.own
        second = survival.chances**2 @ survival.own
        return first[:, None] * x, second[:, None] * (x**2 + rho * x * (1.0 - x))
    kernel = beta_kernel(shares.grid, concentration=1.0 / rho - 1.0)
    good = place_shares(survival.chances[:, :, None] * x, per_place=per_place, enough=enough)
    means = np.einsum("scb,c->sb", good, survival.own) @ kernel.T
    return means, np.einsum("scb,c->sb", good**2, survival.own) @ kernel.T


def place_shares(shares: Floats, *, per_place: int, enough: int) -> Floats:
    """Return P(Binomial(per_place, share) >= enough) for each share: the chance of a good place."""
    return np.asarray(betainc(enough, per_place - enough + 1, shares))


def _chances(places: GoodPlaces, *, wanted: int, number: int, clusters: int) -> Floats:
    e = np.clip(places.means, 1e-12, 1.0 - 1e-12)
    alone = e * (1.0 - e)
    inside = np.minimum(places.scatters / alone, 1.0 - 1e-9)
    if number <= FEW_PLACES:
        # Clusters put together as one that correlates less: mean and variance stay the same.
        apart = inside * (number / clusters - 1.0) / max(number - 1.0, 1.0)
        return _beta_binomial_tail(e, np.clip(apart, _LEAST_CORRELATION, None), wanted, number)
    variance = alone * ((1.0 - inside) / number + inside / clusters)
    concentration = np.maximum(alone / variance - 1.0, 1e-9)
    missing = 1.0 - (wanted - 0.5) / number
    return np.asarray(betainc(concentration * (1.0 - e), concentration * e, missing))


def _beta_binomial_tail(means: Floats, correlations: Floats, wanted: int, number: int) -> Floats:
    concentration = 1.0 / correlations - 1.0
    a, b = (means * concentration)[:, None], ((1.0 - means) * concentration)[:, None]
    k = np.arange(wanted, number + 1.0)
    choices = gammaln(number + 1.0) - gammaln(k + 1.0) - gammaln(number - k + 1.0)
    logs = choices + betaln(k + a, number - k + b) - betaln(a, b)
    return np.asarray(np.minimum(np.exp(logs).sum(axis=1), 1.0))


def _past(wanted: int, share: float) -> int:
    """Return a number of items far beyond what any sureness up to 99.99 % asks for."""
    return ceil(float(wanted + 20.0 * wanted**0.5 + 40.0) / share)


def least_number(enough: Callable[[int], bool], *, low: int, high: int) -> int | None:
    """Return the least whole number from `low` to `high` for which `enough` holds, None if none."""
    if not enough(high):
        return None
    while low < high:
        middle = (low + high) // 2
        if enough(middle):
            high = middle
        else:
            low = middle + 1
    return low
