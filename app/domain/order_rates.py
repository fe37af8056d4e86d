"""What share of the cuttings stuck for an order will root: the nursery's own batches first.

The batches of the plant (with the method and the season asked for) lean on their genus, that on
the whole nursery. Where neither is there, a published share stands in; where that is not there
either, nothing is said.
"""

from dataclasses import dataclass, field, replace
from enum import StrEnum
from typing import Final

import numpy as np

from app.domain.nursery_fits import (
    GRID,
    MONTHS_FROM,
    START_CONCENTRATIONS,
    NurseryFit,
)
from app.domain.published_rates import PublishedRate
from app.stats.beta_trees import Clusters, Levels, OwnScatter, mixed_group_messages
from app.stats.group_posteriors import ASSUMED_CORRELATION, ASSUMED_LOGIT_SD, LEARNED_LOGIT_SD
from app.stats.joint_shares import JointShares, joint_shares
from app.stats.share_grids import Bools, Floats, beta_kernel
from app.stats.trees import Ints, cavity, climb, descend

FEW: Final = 3
# What was published elsewhere counts as one batch of so few cuttings, whatever its size was.
PUBLISHED_CUTTINGS: Final = 10
_NODES: Final = 7
_ANY: Final = -1


class RateRestsOn(StrEnum):
    """What the share of an order rests on; the widest that has enough to say."""

    OWN = "own batches"
    GENUS = "genus"
    NURSERY = "whole nursery"
    PUBLISHED = "published"
    NOTHING = "nothing"


@dataclass(frozen=True, kw_only=True)
class PlannedBatches:
    """Every batch that counts for rates, as parallel arrays; counts are cuttings.

    `cutting_type` are the fit's numbers, a hormone of 0 is not recorded, `month` is that of
    sticking. `unknown` are unrooted or cleared unrooted.
    """

    batch_ids: Ints
    genus: Ints
    plant: Ints
    cutting_type: Ints
    hormone: Ints
    month: Ints
    rooted: Floats
    failed: Floats
    unknown: Floats


@dataclass(frozen=True, kw_only=True)
class AskedGroup:
    """Whose share is asked for. None leaves a name out: any plant, type, hormone or month."""

    genus: int
    plant: int | None = None
    cutting_type: int | None = None
    hormone: int | None = None
    month: int | None = None


@dataclass(frozen=True, kw_only=True)
class RateBasis:
    """The share that will root, and what it rests on.

    `own`, `of_genus` and `of_nursery` are batches that could be counted. `observed_share` is
    rooted of stuck in the narrowest of these that has any, for the naive sum; None without one.
    """

    rests_on: RateRestsOn
    shares: JointShares | None = field(repr=False)
    own: int
    of_genus: int
    of_nursery: int
    observed_share: float | None
    published: PublishedRate | None = None

    @property
    def leans(self) -> bool:
        """Whether the plant's own batches are too few to stand by themselves."""
        return self.rests_on is not RateRestsOn.OWN


def rate_basis(
    batches: PlannedBatches,
    *,
    asked: AskedGroup,
    fit: NurseryFit | None,
    published: PublishedRate | None = None,
) -> RateBasis:
    """Return what is thought of the asked group's share and correlation, and what that rests on."""
    known = _known(batches, fit)
    own = known & _matching(batches, asked)
    of_genus = known & (batches.genus == asked.genus)
    basis = RateBasis(
        rests_on=RateRestsOn.NOTHING,
        shares=None,
        own=int(own.sum()),
        of_genus=int(of_genus.sum()),
        of_nursery=int(known.sum()),
        observed_share=_observed(batches, own, of_genus, known),
        published=published,
    )
    basis = replace(basis, rests_on=_rests_on(basis))
    if basis.rests_on is RateRestsOn.NOTHING:
        return basis
    if basis.rests_on is RateRestsOn.PUBLISHED and published is not None:
        return replace(basis, shares=_published_shares(published))
    return replace(basis, shares=_tree_shares(batches, known, asked=asked, fit=fit))


def usual_type(batches: PlannedBatches, *, asked: AskedGroup) -> int | None:
    """Return the cutting type by which most batches of the plant were stuck, or of its genus.

    The fit's number; None where no batch says one.
    """
    of_genus = (batches.genus == asked.genus) & (batches.cutting_type > 0)
    of_plant = of_genus & _matching(batches, replace(asked, cutting_type=None))
    for chosen in (of_plant, of_genus):
        if chosen.any():
            return int(np.bincount(batches.cutting_type[chosen]).argmax())
    return None


def season_of(month: int, *, finished: int) -> int:
    """Return the number that months are grouped by: themselves from 200 finished batches on."""
    return month if finished >= MONTHS_FROM else (month - 1) // 3


def _rests_on(basis: RateBasis) -> RateRestsOn:
    if basis.own >= FEW:
        return RateRestsOn.OWN
    if basis.of_genus:
        return RateRestsOn.GENUS
    if basis.of_nursery >= FEW:
        return RateRestsOn.NURSERY
    return RateRestsOn.PUBLISHED if basis.published else RateRestsOn.NOTHING


def _known(batches: PlannedBatches, fit: NurseryFit | None) -> Bools:
    """Return which batches say something: finished, or open and forecast."""
    settled = batches.unknown == 0
    if fit is None or not fit.may_forecast:
        return np.asarray(settled)
    return np.asarray(settled | np.isin(batches.batch_ids, fit.open_batches.batch_ids))


def _matching(batches: PlannedBatches, asked: AskedGroup) -> Bools:
    """Return which batches are of the asked plant and method; the season is left out."""
    found = batches.genus == asked.genus
    for name in ("plant", "cutting_type", "hormone"):
        wanted = getattr(asked, name)
        if wanted is not None:
            found = found & (getattr(batches, name) == wanted)
    return np.asarray(found)


def _observed(batches: PlannedBatches, *groups: Bools) -> float | None:
    """Return rooted of stuck of the finished batches in the first group that has any."""
    for group in groups:
        chosen = group & (batches.unknown == 0)
        if chosen.any():
            rooted = float(batches.rooted[chosen].sum())
            return rooted / (rooted + float(batches.failed[chosen].sum()))
    return None


def _published_shares(published: PublishedRate) -> JointShares:
    """Return the share as one batch of ten cuttings with the published outcome would leave it."""
    size = float(PUBLISHED_CUTTINGS)
    return joint_shares(
        Clusters(
            successes=np.array([float(round(published.share * PUBLISHED_CUTTINGS))]),
            sizes=np.array([size]),
            groups=np.zeros(1, dtype=np.int64),
        ),
        scatter=_scatter(None),
        grid=GRID,
    )


def _scatter(fit: NurseryFit | None) -> OwnScatter:
    if fit is None:
        return OwnScatter(correlation=ASSUMED_CORRELATION, logit_sd=ASSUMED_LOGIT_SD)
    return OwnScatter(correlation=fit.correlation, logit_sd=LEARNED_LOGIT_SD)


def _tree_shares(
    batches: PlannedBatches, known: Bools, *, asked: AskedGroup, fit: NurseryFit | None
) -> JointShares:
    """Return the share of the asked group as it leans on the wider ones above it."""
    tree = _Tree.of(batches, known, asked=asked, fit=fit)
    scatter = _scatter(fit)
    bottom = mixed_group_messages(
        _clusters(batches, known, groups=tree.groups, fit=fit),
        groups=tree.levels.groups,
        scatter=scatter,
        nodes=_NODES,
        grid=GRID,
    )
    joins = tree.levels.joins()
    kernels = [beta_kernel(GRID, concentration=k) for k in tree.concentrations]
    climbed = climb(bottom, joins=joins, kernels=kernels)
    above = descend(climbed, joins=joins, kernels=kernels, log_prior=GRID.log_widths)[1]
    parent = tree.levels.parents[0][tree.asked]
    message = climbed.messages[0][tree.asked : tree.asked + 1]
    from_above = cavity(above[parent : parent + 1], messages=message) @ kernels[0]
    own = known.copy()
    own[known] = tree.groups == tree.asked
    return joint_shares(
        _clusters(batches, own, groups=np.zeros(int(own.sum()), dtype=np.int64), fit=fit),
        scatter=scatter,
        log_prior=np.log(np.maximum(from_above[0], 1e-300)),
        grid=GRID,
    )


def _clusters(
    batches: PlannedBatches, chosen: Bools, *, groups: Ints, fit: NurseryFit | None
) -> Clusters:
    """Return the chosen batches as data; `groups` are theirs, in order."""
    settled = batches.unknown[chosen] == 0
    sizes = (batches.rooted + batches.failed)[chosen]
    opened = None
    if fit is not None and not settled.all():
        order = np.argsort(fit.open_batches.batch_ids)
        ids = fit.open_batches.batch_ids[order]
        rows = order[np.searchsorted(ids, batches.batch_ids[chosen][~settled])]
        opened = fit.open_batches.share_logs[rows]
    return Clusters(
        successes=batches.rooted[chosen][settled],
        sizes=sizes[settled],
        groups=groups[settled],
        open_logs=opened,
        open_groups=None if opened is None else groups[~settled],
    )


@dataclass(frozen=True, kw_only=True)
class _Tree:
    """The groups of the known batches, the levels above them, and the place of the asked one.

    `concentrations` are those of each level round the next, from the lowest up.
    """

    groups: Ints
    levels: Levels
    concentrations: tuple[float, ...]
    asked: int

    @classmethod
    def of(
        cls,
        batches: PlannedBatches,
        known: Bools,
        *,
        asked: AskedGroup,
        fit: NurseryFit | None,
    ) -> "_Tree":
        _, months, methods, genera = fit.concentrations if fit else START_CONCENTRATIONS
        finished = fit.finished if fit else 0
        names = [("genus", genera), ("plant", methods), ("cutting_type", methods)]
        names += [("hormone", methods), ("month", months)]
        used = [(name, k) for name, k in names if getattr(asked, name) is not None]
        # The asked group is put behind the batches, so that it has a place without any.
        columns = []
        for name, _ in used:
            values = np.append(getattr(batches, name)[known], getattr(asked, name))
            by_season = name == "month"
            columns.append(
                np.array([season_of(int(m), finished=finished) for m in values])
                if by_season
                else values
            )
        nodes, parents = _nested(columns)
        return cls(
            groups=nodes[:-1],
            levels=Levels(groups=int(nodes.max()) + 1, parents=parents),
            concentrations=tuple(k for _, k in reversed(used)),
            asked=int(nodes[-1]),
        )


def _nested(columns: list[Ints]) -> tuple[Ints, tuple[Ints, ...]]:
    """Return each row's lowest group, and the parent of each node level by level to the root."""
    paths = [
        np.unique(np.stack(columns[: depth + 1]), axis=1, return_inverse=True)[1].ravel()
        for depth in range(len(columns))
    ]
    parents: list[Ints] = []
    for lower, upper in zip(reversed(paths[1:]), reversed(paths[:-1]), strict=True):
        parent = np.zeros(int(lower.max()) + 1, dtype=np.int64)
        parent[lower] = upper
        parents.append(parent)
    parents.append(np.zeros(int(paths[0].max()) + 1, dtype=np.int64))
    return paths[-1], tuple(parents)
