"""The log-logistic curve of days to onset, on published counts between looks."""

from pathlib import Path

import numpy as np
import pytest
from scipy.optimize import minimize
from scipy.special import expit, logit
from scipy.stats import fisk

from app.stats.onset_curves import log_not_yet, log_set_in, log_within

CHICKWEED = Path(__file__).parent.parent / "data" / "chickweed_germination.csv"
SEEDS = 200


def _counts() -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    hours, so_far = np.loadtxt(CHICKWEED, delimiter=",", comments="#", skiprows=3).T
    starts = np.concatenate([[0.0], hours[:-1]])
    return starts, hours, np.diff(so_far, prepend=0.0)


def _minus_log_likelihood(at: np.ndarray) -> float:
    """With log median, log scale and the logit of the share that germinates at all."""
    starts, ends, new = _counts()
    medians, scale, share = at[:1], float(np.exp(at[1])), float(expit(at[2]))
    within = log_within(starts, ends=ends, log_medians=medians, scale=scale)[:, 0]
    not_yet = np.exp(log_not_yet(ends[-1:], log_medians=medians, scale=scale))[0, 0]
    left = np.log(1.0 - share + share * not_yet)
    return -float(new @ (within + np.log(share)) + (SEEDS - new.sum()) * left)


def _standard_errors(at: np.ndarray) -> np.ndarray:
    step = 1e-3
    size = len(at)
    hessian = np.empty((size, size))
    for i, j in np.ndindex(size, size):
        a, b = np.eye(size)[i] * step, np.eye(size)[j] * step
        corners = [_minus_log_likelihood(at + x) for x in (a + b, a - b, b - a, -a - b)]
        hessian[i, j] = (corners[0] - corners[1] - corners[2] + corners[3]) / (4.0 * step**2)
    return np.sqrt(np.diag(np.linalg.inv(hessian)))


def test_germination_of_chickweed() -> None:
    # Three-parameter log-logistic event-time model in the documentation of the R package drc, on
    # data of Ritz, Pipper and Streibig (2013) European Journal of Agronomy 45:1-6: slope b
    # -20.76747 (2.94423), upper limit d 0.20011 (0.02830), median e 196.05308 (2.50570) hours;
    # times of 10, 50 and 90 % 176.3700, 196.0531, 217.9328. CONFIRMED for b, d and e to the
    # digits printed there in the plot's lines (20.77, 0.20011, 196); the rest COMPUTED.
    found = minimize(
        _minus_log_likelihood,
        x0=np.array([np.log(190.0), np.log(0.06), logit(0.25)]),
        method="Nelder-Mead",
        options={"xatol": 1e-9, "fatol": 1e-11, "maxiter": 4000},
    )
    log_median, log_scale, logit_share = found.x
    slope, median, share = np.exp(-log_scale), np.exp(log_median), expit(logit_share)
    assert slope == pytest.approx(20.76747, abs=1e-3)
    assert median == pytest.approx(196.05308, abs=1e-3)
    assert share == pytest.approx(0.20011, abs=1e-5)
    assert found.fun == pytest.approx(188.1719, abs=1e-4)
    levels = np.array([0.1, 0.5, 0.9])
    times = median * (levels / (1.0 - levels)) ** (1.0 / slope)
    assert times == pytest.approx([176.3700, 196.0531, 217.9328], abs=2e-3)
    # delta rule from the log and logit scales
    errors = _standard_errors(found.x) * np.array([median, slope, share * (1.0 - share)])
    assert errors == pytest.approx([2.50570, 2.94423, 0.02830], rel=2e-3)


def test_equals_the_reference_library() -> None:
    # scipy.stats.fisk is the log-logistic, c = 1 / s
    days = np.array([0.5, 3.0, 14.0, 28.0, 60.0, 200.0])
    medians, scale = np.log([9.0, 28.0, 70.0]), 0.2
    not_yet = log_not_yet(days, log_medians=medians, scale=scale)
    set_in = log_set_in(days, log_medians=medians, scale=scale)
    for column, median in enumerate((9.0, 28.0, 70.0)):
        reference = fisk(c=1.0 / scale, scale=median)
        assert not_yet[:, column] == pytest.approx(reference.logsf(days), abs=1e-9)
        assert set_in[:, column] == pytest.approx(reference.logcdf(days), rel=1e-9)
    within = log_within(days[:-1], ends=days[1:], log_medians=medians[1:2], scale=scale)
    gaps = np.diff(fisk(c=5.0, scale=28.0).cdf(days))
    assert within[:, 0] == pytest.approx(np.log(gaps), abs=1e-6)
