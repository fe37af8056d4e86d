"""The convolution of a cluster's speed and the curve, against quadrature and its two limits."""

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.stats import logistic, norm

from app.stats.new_onsets import log_day_quantiles, log_median_quantiles, set_in_share
from app.stats.onset_trees import LOG_MEDIANS

LEVELS = (0.05, 0.1, 0.5, 0.9, 0.98)


@pytest.mark.parametrize(("scale", "cluster_sd"), [(0.2, 0.15), (0.08, 1.2), (0.4, 0.05)])
def test_share_agrees_with_quadrature(scale: float, cluster_sd: float) -> None:
    # scipy.integrate.quad over the normal part, as reference
    for x in (-0.8, -0.1, 0.0, 0.3, 1.1):
        exact, _ = quad(
            lambda z, x=x: norm.pdf(z) * logistic.cdf((x - cluster_sd * z) / scale), -9.0, 9.0
        )
        found = set_in_share(np.array([x]), scale=scale, cluster_sd=cluster_sd)[0]
        assert found == pytest.approx(exact, abs=1e-7)


def test_without_clusters_it_is_the_logistic_curve() -> None:
    found = log_day_quantiles(LEVELS, scale=0.2, cluster_sd=0.0)
    assert found == pytest.approx(0.2 * logistic.ppf(LEVELS), abs=1e-12)


def test_where_clusters_differ_most_it_is_nearly_normal() -> None:
    found = log_day_quantiles(LEVELS, scale=0.02, cluster_sd=0.3)
    spread = np.hypot(0.3, 0.02 * np.pi / np.sqrt(3.0))
    assert found == pytest.approx(spread * norm.ppf(LEVELS), abs=1.5e-3)


def test_quantiles_undo_the_share_and_agree_with_throws_of_dice() -> None:
    found = log_day_quantiles(LEVELS, scale=0.2, cluster_sd=0.15)
    assert set_in_share(found, scale=0.2, cluster_sd=0.15) == pytest.approx(LEVELS, abs=1e-9)
    rng = np.random.default_rng(7)
    thrown = rng.normal(0.0, 0.15, 400_000) + rng.logistic(0.0, 0.2, 400_000)
    assert found == pytest.approx(np.quantile(thrown, LEVELS), abs=0.006)


def test_quantiles_of_a_median_from_its_masses() -> None:
    masses = norm.pdf(LOG_MEDIANS, np.log(28.0), 0.1)
    levels = (0.025, 0.5, 0.975)
    found = log_median_quantiles(masses, levels=levels)
    assert found == pytest.approx(np.log(28.0) + 0.1 * norm.ppf(levels), abs=4e-3)


def test_one_bin_of_mass_stays_in_its_bin() -> None:
    masses = np.zeros(len(LOG_MEDIANS))
    masses[40] = 1.0
    step = LOG_MEDIANS[1] - LOG_MEDIANS[0]
    found = log_median_quantiles(masses, levels=(0.025, 0.5, 0.975))
    assert found[1] == pytest.approx(LOG_MEDIANS[40])
    assert found[2] - found[0] == pytest.approx(0.95 * step)
