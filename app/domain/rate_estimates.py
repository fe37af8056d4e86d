"""What the rate of each group is taken to be: its own batches, what wider groups say, and the
unrooted cuttings at their usual odds.
"""

from typing import Final

import numpy as np

from app.domain.nursery_fits import GRID, START_CONCENTRATIONS, NurseryFit
from app.domain.rate_members import RateMembers, leaning_order
from app.domain.strike_rates import GroupEstimate
from app.domain.strike_rates_keys import RateKey
from app.stats.beta_trees import Clusters, Levels, OwnScatter, fit_beta_tree
from app.stats.group_posteriors import (
    ASSUMED_LOGIT_SD,
    LEARNED_LOGIT_SD,
    lone_group_posteriors,
)
from app.stats.share_grids import Bools, Floats
from app.stats.trees import Ints

_BATCHES, _MONTHS, _METHODS, _GENERA = START_CONCENTRATIONS
# How close groups of a name are thought to lie to the wider group before their batches speak.
_CENTRES: Final = {
    RateKey.GENUS: _GENERA,
    RateKey.PLANT: _METHODS,
    RateKey.CUTTING_TYPE: _METHODS,
    RateKey.HORMONE: _METHODS,
    RateKey.METHOD: _METHODS,
    RateKey.YEAR: _MONTHS,
    RateKey.MONTH: _MONTHS,
}
# The middle of what is thought, and both ends. A mean is drawn further to 50 % by wide ranges.
_LEVELS: Final = (0.5, 0.025, 0.975)


def estimate_groups(
    members: RateMembers, *, groups: int, by: tuple[RateKey, ...], fit: NurseryFit
) -> tuple[GroupEstimate | None, ...]:
    """Return an estimate for each of `groups`, None where none can be made.

    None is for a group without batches, and for one with unrooted cuttings of which nothing is
    forecast: too few batches are finished in the nursery, or a batch was not learned from.
    """
    forecast = _forecast_rows(members, fit)
    clusters = _clusters(members, fit, forecast)
    masses = _masses(members, clusters, groups=groups, by=by, fit=fit)
    shares, lows, highs = GRID.quantiles(masses, _LEVELS).T
    unclear = _groups_left_unclear(members, forecast, groups=groups)
    present = np.bincount(members.groups, minlength=groups) > 0
    unknown = np.bincount(members.groups, weights=members.unknown, minlength=groups)
    stuck = np.bincount(members.groups, weights=_sizes(members), minlength=groups)
    leans = bool(leaning_order(by))
    return tuple(
        GroupEstimate(
            share=float(shares[place]),
            low_share=float(lows[place]),
            high_share=float(highs[place]),
            forecast_share=float(unknown[place] / stuck[place]),
            leans=leans,
        )
        if present[place] and not unclear[place]
        else None
        for place in range(groups)
    )


def _sizes(members: RateMembers) -> Floats:
    return np.asarray(members.rooted + members.failed + members.unknown)


def _forecast_rows(members: RateMembers, fit: NurseryFit) -> Ints:
    """Return for each member its row among the fit's open batches, -1 for none."""
    known = fit.open_batches.batch_ids
    if not len(known) or not fit.may_forecast:
        return np.full(len(members.batch_ids), -1, dtype=np.int64)
    order = np.argsort(known)
    place = np.clip(np.searchsorted(known[order], members.batch_ids), 0, len(known) - 1)
    found = order[place]
    return np.where(known[found] == members.batch_ids, found, -1)


def _groups_left_unclear(members: RateMembers, forecast: Ints, *, groups: int) -> Bools:
    unclear = (members.unknown > 0) & (forecast < 0)
    return np.bincount(members.groups[unclear], minlength=groups) > 0


def _clusters(members: RateMembers, fit: NurseryFit, forecast: Ints) -> Clusters:
    settled = members.unknown == 0
    opened = ~settled & (forecast >= 0)
    return Clusters(
        successes=members.rooted[settled],
        sizes=_sizes(members)[settled],
        groups=members.groups[settled],
        open_logs=fit.open_batches.share_logs[forecast[opened]],
        open_groups=members.groups[opened],
    )


def _masses(
    members: RateMembers,
    clusters: Clusters,
    *,
    groups: int,
    by: tuple[RateKey, ...],
    fit: NurseryFit,
) -> Floats:
    order = leaning_order(by)
    if not order:
        return lone_group_posteriors(
            clusters,
            groups=groups,
            correlation=fit.correlation,
            logit_sd=LEARNED_LOGIT_SD if fit.may_forecast else ASSUMED_LOGIT_SD,
            grid=GRID,
        )
    centres = (_BATCHES, *(_CENTRES[key] for key in reversed(order)))
    fitted = fit_beta_tree(
        clusters,
        levels=Levels(groups=groups, parents=_parents(members, order=order, groups=groups)),
        centres=centres,
        scatter=OwnScatter(correlation=fit.correlation, logit_sd=LEARNED_LOGIT_SD),
        grid=GRID,
    )
    return fitted.posteriors[0]


def _parents(members: RateMembers, *, order: tuple[RateKey, ...], groups: int) -> tuple[Ints, ...]:
    """Return the parent of each node, level by level from the groups up to the root."""
    paths: list[Ints] = []
    for key in order[:-1]:
        level = members.values[key]
        path = np.stack([paths[-1], level]) if paths else level[None, :]
        paths.append(np.unique(path, axis=1, return_inverse=True)[1].ravel())
    parents: list[Ints] = []
    nodes, count = members.groups, groups
    for above in reversed(paths):
        values, place = np.unique(above, return_inverse=True)
        parent = np.zeros(count, dtype=np.int64)
        parent[nodes] = place.ravel()
        parents.append(parent)
        nodes, count = place.ravel(), len(values)
    parents.append(np.zeros(count, dtype=np.int64))
    return tuple(parents)
