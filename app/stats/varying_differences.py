"""A difference that may vary from group to group, each group leaning on all the others.

The logistic regression of `adjusted_differences` with one more term per group: a deviation of the
factor's effect, normal round 0 with sd tau. tau is not fixed but averaged over a small grid by its
marginal likelihood under an even prior, so that groups with few clusters lean much and groups
with many hardly.

Sources: generalised linear mixed models, N. E. Breslow and D. G. Clayton (1993), J. Amer. Statist.
Assoc. 88:9-25; Laplace's approximation of the marginal likelihood, L. Tierney and J. B. Kadane
(1986), J. Amer. Statist. Assoc. 81:82-86 (both from memory). Checked by simulation.
"""

from dataclasses import dataclass, field
from typing import Final

import numpy as np
from scipy.sparse import csr_matrix, hstack
from scipy.special import expit
from scipy.stats import t as student

from app.stats.adjusted_differences import RIDGE_SD, LogisticFit
from app.stats.share_grids import Floats
from app.stats.trees import Ints

SPREADS: Final = (0.05, 0.1, 0.2, 0.3, 0.45, 0.6, 0.8)
_INTERCEPT_PRECISION: Final = 0.01
_ROUNDS: Final = 30
_TOLERANCE: Final = 1e-6


@dataclass(frozen=True, kw_only=True)
class GroupDifferences:
    """Per group the difference of shares (-1 to 1), its limits and standard error.

    `spread` is the sd of the groups' deviations on the logit scale, averaged over its grid. A
    group without any cluster holds NaN.
    """

    points: Floats = field(repr=False)
    low: Floats = field(repr=False)
    high: Floats = field(repr=False)
    se: Floats = field(repr=False)
    spread: float


def varying_differences(
    design: Floats,
    *,
    shares: Floats,
    weights: Floats,
    plain: LogisticFit,
    groups: Ints,
    factor: int = 1,
    level: float = 0.95,
) -> GroupDifferences:
    """Return the factor's difference in each group (0 up to the largest in `groups`).

    `design` has the intercept first and the factor, 1 or 0, in column `factor`; `groups` should
    stand in it as categories of their own. `plain` is its fit without deviations, whose
    dispersion widens the errors. A group's difference is the mean over its own clusters of the
    fitted share with the factor less that without.
    """
    search = _Search(
        design=design,
        shares=shares,
        weights=weights / max(1.0, plain.dispersion),
        groups=groups,
        factor=factor,
    )
    mean, variance, spread = search.averaged(plain.coefficients)
    se = np.sqrt(variance)
    reach = float(student.ppf(0.5 + level / 2.0, plain.df)) * se
    return GroupDifferences(
        points=mean,
        low=np.maximum(mean - reach, -1.0),
        high=np.minimum(mean + reach, 1.0),
        se=se,
        spread=spread,
    )


class _Search:
    """The regression with deviations: its mode, marginal likelihood and differences at a spread."""

    def __init__(
        self, *, design: Floats, shares: Floats, weights: Floats, groups: Ints, factor: int
    ) -> None:
        self.count = int(groups.max(initial=-1)) + 1
        self._shares, self._weights = shares, weights
        self._groups, self._columns = groups, design.shape[1]
        # Half of the deviation on each side, so that neither side scatters more than the other.
        self._design = self._with_deviations(design, design[:, factor] - 0.5)
        one, other = design.copy(), design.copy()
        one[:, factor], other[:, factor] = 1.0, 0.0
        rows = np.arange(len(groups))
        self._one = self._with_deviations(one, np.full(len(rows), 0.5))
        self._other = self._with_deviations(other, np.full(len(rows), -0.5))
        shape = (self.count, len(rows))
        self._owned = csr_matrix((np.ones(len(rows)), (groups, rows)), shape=shape)

    def averaged(self, coefficients: Floats) -> tuple[Floats, Floats, float]:
        """Return the groups' differences and variances, and the spread, averaged over spreads."""
        start = np.concatenate([coefficients, np.zeros(self.count)])
        points, variances, logs = [], [], []
        for spread in SPREADS:
            start, information = self.mode(start, spread=spread)
            logs.append(self.log_marginal(start, information, spread=spread))
            covariance = np.asarray(np.linalg.inv(information), dtype=np.float64)
            found, variance = self.differences(start, covariance)
            points.append(found)
            variances.append(variance)
        chances = np.exp(np.array(logs) - max(logs)) * np.gradient(SPREADS)
        chances /= chances.sum()
        mean = chances @ np.array(points)
        scatter = chances @ (np.array(variances) + (np.array(points) - mean) ** 2)
        return mean, scatter, float(chances @ np.array(SPREADS))

    def mode(self, start: Floats, *, spread: float) -> tuple[Floats, Floats]:
        """Return the coefficients at the penalised mode and the information there."""
        precision = self._precision(spread)
        beta = start
        for _ in range(_ROUNDS):
            fitted = expit(self._design @ beta)
            gradient = self._design.T @ (self._weights * (self._shares - fitted))
            step = np.linalg.solve(
                self._information(fitted, precision), gradient - precision * beta
            )
            beta = self._halved(beta, step, precision)
            if np.abs(step).max() < _TOLERANCE:
                break
        return beta, self._information(expit(self._design @ beta), precision)

    def log_marginal(self, beta: Floats, information: Floats, *, spread: float) -> float:
        """Return Laplace's approximation, up to what does not depend on the spread."""
        _, log_determinant = np.linalg.slogdet(information)
        height = self._penalised(beta, self._precision(spread))
        # A group without clusters adds as much to one of the last two terms as to the other.
        return float(height - 0.5 * log_determinant - self.count * np.log(spread))

    def differences(self, beta: Floats, covariance: Floats) -> tuple[Floats, Floats]:
        """Return each group's standardised difference and its variance by the delta rule."""
        high, low = expit(self._one @ beta), expit(self._other @ beta)
        rising = self._owned.multiply(high * (1.0 - high)) @ self._one
        falling = self._owned.multiply(low * (1.0 - low)) @ self._other
        sizes = np.asarray(self._owned.sum(axis=1)).ravel()
        with np.errstate(invalid="ignore", divide="ignore"):
            gradients = (rising - falling).toarray() / sizes[:, None]
            points = np.asarray(self._owned @ (high - low)) / sizes
        return points, np.asarray((gradients @ covariance * gradients).sum(axis=1))

    def _with_deviations(self, design: Floats, sides: Floats) -> csr_matrix:
        rows = np.arange(len(self._groups))
        shape = (len(rows), self.count)
        deviations = csr_matrix((sides, (rows, self._groups)), shape=shape)
        return csr_matrix(hstack([csr_matrix(design), deviations]))

    def _precision(self, spread: float) -> Floats:
        precision = np.full(self._columns + self.count, 1.0 / RIDGE_SD**2)
        precision[0] = _INTERCEPT_PRECISION
        precision[self._columns :] = 1.0 / spread**2
        return precision

    def _information(self, fitted: Floats, precision: Floats) -> Floats:
        scatter = self._weights * fitted * (1.0 - fitted)
        weighed = self._design.multiply(scatter[:, None]).tocsr()
        return np.asarray((weighed.T @ self._design).toarray() + np.diag(precision))

    def _penalised(self, beta: Floats, precision: Floats) -> float:
        eta = self._design @ beta
        likelihood = float((self._weights * (self._shares * eta - np.logaddexp(0.0, eta))).sum())
        return likelihood - 0.5 * float((precision * beta**2).sum())

    def _halved(self, beta: Floats, step: Floats, precision: Floats) -> Floats:
        here, size = self._penalised(beta, precision), 1.0
        while size > 1e-6:
            tried = np.asarray(beta + size * step)
            if self._penalised(tried, precision) >= here - 1e-12:
                return tried
            size /= 2.0
        return beta
