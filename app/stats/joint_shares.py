"""What is thought of a group's share and of the correlation inside its clusters, both together.

A number foretold for new clusters needs both: where the correlation is high the share is known
less well, and the new clusters scatter more.
"""

from dataclasses import dataclass, field
from typing import Final

import numpy as np
from scipy.special import expit, logit

from app.stats.beta_trees import Clusters, OwnScatter, group_messages_at
from app.stats.share_grids import Floats, ShareGrid
from app.stats.trees import normalised

NODES: Final = 17


@dataclass(frozen=True, kw_only=True)
class JointShares:
    """Masses over pairs of a correlation and a share, shape (correlations, bins), summing to 1."""

    grid: ShareGrid
    correlations: Floats
    masses: Floats = field(repr=False)

    @property
    def share_masses(self) -> Floats:
        """The masses of the share alone, one per bin of the grid."""
        return np.asarray(self.masses.sum(axis=0))

    @property
    def mean(self) -> float:
        """The mean of the share."""
        return float(self.share_masses @ self.grid.middles)

    @property
    def variance(self) -> float:
        """The variance of the share: how well the group is known, not how its clusters differ."""
        return float(self.share_masses @ self.grid.middles**2) - self.mean**2

    def quantiles(self, levels: tuple[float, ...]) -> tuple[float, ...]:
        """Return quantiles of the share."""
        return tuple(float(x) for x in self.grid.quantiles(self.share_masses[None, :], levels)[0])


def joint_shares(
    clusters: Clusters,
    *,
    scatter: OwnScatter,
    log_prior: Floats | None = None,
    nodes: int = NODES,
    grid: ShareGrid,
) -> JointShares:
    """Return what one group's clusters say of its share and correlation together.

    Every cluster is of group 0. `log_prior` are log masses of the share beforehand, uniform
    where it is left out; `scatter` is what is thought of the correlation beforehand, put on the
    `nodes` of Gauss and Hermite: the far ends of the correlation weigh in what is foretold.
    """
    places, weights = np.polynomial.hermite_e.hermegauss(nodes)
    correlations = np.asarray(expit(logit(scatter.correlation) + scatter.logit_sd * places))
    logs = group_messages_at(clusters, groups=1, correlations=correlations, grid=grid)[:, 0]
    logs = logs + np.log(weights)[:, None]
    logs += grid.log_widths if log_prior is None else log_prior
    masses = normalised(logs.reshape(1, -1)).reshape(logs.shape)
    return JointShares(grid=grid, correlations=correlations, masses=masses)
