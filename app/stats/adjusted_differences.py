"""The difference between two levels of a factor, with other factors held alike.

A logistic regression on effective counts with a weak ridge, its errors widened by the scatter that
is left over, turned into points by standardisation.

Sources: generalised linear models by iterated least squares, P. McCullagh and J. A. Nelder (1989);
the ridge follows A. Gelman and others (2008), Annals of Applied Statistics 2:1360-1383 (from
memory). Checked against statsmodels.
"""

from dataclasses import dataclass
from typing import Final

import numpy as np
from scipy.sparse import csr_matrix
from scipy.special import expit
from scipy.stats import t as student

from app.stats.share_grids import Floats

RIDGE_SD: Final = 2.5
_INTERCEPT_PRECISION: Final = 0.01
_FLOOR: Final = 0.01
_ROUNDS: Final = 50
_TOLERANCE: Final = 1e-10


@dataclass(frozen=True, kw_only=True)
class LogisticFit:
    """Coefficients, their covariance before scaling, fitted shares, dispersion and its df."""

    coefficients: Floats
    covariance: Floats
    fitted: Floats
    dispersion: float
    df: float


@dataclass(frozen=True, kw_only=True)
class Difference:
    """A difference of two shares (-1 to 1) with its limits and standard error."""

    points: float
    low: float
    high: float
    se: float
    df: float

    @property
    def chance(self) -> float:
        """Two-sided probability of a difference at least as large where there is none, 0 to 1."""
        return 2.0 * float(student.sf(abs(self.points) / self.se, self.df))


def fit_logistic(
    design: Floats, *, shares: Floats, weights: Floats, ridge_sd: float | None = RIDGE_SD
) -> LogisticFit:
    """Return the fit of `shares` (0 to 1) on the design, rows weighted by effective counts.

    The first column is the intercept. `ridge_sd` is the sd of a normal prior on every other
    coefficient, None for plain maximum likelihood. Newton's steps are halved until the
    penalised likelihood grows. The dispersion is Pearson's over n - p with mu (1 - mu) held
    above 0.01.
    """
    precision = np.zeros(design.shape[1])
    if ridge_sd is not None:
        precision[:] = 1.0 / ridge_sd**2
        precision[0] = _INTERCEPT_PRECISION
    # Columns of categories are mostly zeros: products that pass these over take a third as long.
    thin = csr_matrix(design)
    beta = np.zeros(design.shape[1])
    for _ in range(_ROUNDS):
        step = _newton_step(beta, thin, shares, weights, precision)
        beta, moved = _halved(beta, step, thin, shares, weights, precision)
        if moved < _TOLERANCE:
            break
    fitted = expit(thin @ beta)
    information = _information(fitted, thin, weights, precision)
    df = max(float(len(shares) - _rank(thin)), 1.0)
    scatter = np.maximum(fitted * (1.0 - fitted), _FLOOR)
    pearson = float((weights * (shares - fitted) ** 2 / scatter).sum())
    return LogisticFit(
        coefficients=beta,
        covariance=np.asarray(np.linalg.inv(information), dtype=np.float64),
        fitted=fitted,
        dispersion=pearson / df,
        df=df,
    )


def standardised_difference(
    fit: LogisticFit, *, with_level: Floats, without: Floats, level: float = 0.95
) -> Difference:
    """Return mean fitted share with the level less without it, over all rows, by the delta rule.

    `with_level` and `without` are the design with the factor set one way and the other for
    every row. The covariance is scaled by max(1, dispersion); limits use Student's t.
    """
    one, other = expit(with_level @ fit.coefficients), expit(without @ fit.coefficients)
    gradient = (
        with_level * (one * (1.0 - one))[:, None] - without * (other * (1.0 - other))[:, None]
    ).mean(axis=0)
    variance = float(gradient @ fit.covariance @ gradient) * max(1.0, fit.dispersion)
    points, se = float((one - other).mean()), float(np.sqrt(variance))
    reach = float(student.ppf(0.5 + level / 2.0, fit.df)) * se
    return Difference(
        points=points,
        low=max(-1.0, points - reach),
        high=min(1.0, points + reach),
        se=se,
        df=fit.df,
    )


def _rank(design: csr_matrix) -> int:
    """Return the number of columns that say something of their own."""
    products = (design.T @ design).toarray()
    return int(np.linalg.matrix_rank(products, hermitian=True))


def _penalised(
    beta: Floats, design: csr_matrix, shares: Floats, weights: Floats, precision: Floats
) -> float:
    eta = design @ beta
    likelihood = float((weights * (shares * eta - np.logaddexp(0.0, eta))).sum())
    return likelihood - 0.5 * float((precision * beta**2).sum())


def _information(fitted: Floats, design: csr_matrix, weights: Floats, precision: Floats) -> Floats:
    scatter = weights * fitted * (1.0 - fitted)
    weighed = design.multiply(scatter[:, None]).tocsr()
    return np.asarray((weighed.T @ design).toarray() + np.diag(precision))


def _newton_step(
    beta: Floats, design: csr_matrix, shares: Floats, weights: Floats, precision: Floats
) -> Floats:
    fitted = expit(design @ beta)
    gradient = design.T @ (weights * (shares - fitted)) - precision * beta
    information = _information(fitted, design, weights, precision)
    return np.asarray(np.linalg.lstsq(information, gradient, rcond=None)[0])


def _halved(
    beta: Floats,
    step: Floats,
    design: csr_matrix,
    shares: Floats,
    weights: Floats,
    precision: Floats,
) -> tuple[Floats, float]:
    here = _penalised(beta, design, shares, weights, precision)
    size = 1.0
    while size > 1e-6:
        tried = beta + size * step
        if _penalised(tried, design, shares, weights, precision) >= here - 1e-12:
            return tried, float(np.abs(size * step).max())
        size /= 2.0
    return beta, 0.0
