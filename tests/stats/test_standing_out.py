"""Who stands out: the two grids against numerical integration, and what must not be pointed at."""

from math import exp

import numpy as np
import pytest
from scipy.integrate import quad

from app.stats.standing_out import (
    FEWEST_CLUSTERS,
    SCATTER_SD,
    LabelDifference,
    label_differences,
)


def found_for(
    differences: list[float], *, effective: float, clusters: int = 40
) -> tuple[LabelDifference, ...]:
    """Labels whose clusters all have expected share 0.6 and together this effective count."""
    labels = np.repeat(np.arange(len(differences)), clusters)
    expected = np.full(len(labels), 0.6)
    return label_differences(
        expected + np.repeat(differences, clusters),
        expected=expected,
        weights=np.full(len(labels), effective / clusters),
        leverage=np.zeros(len(labels)),
        labels=labels,
        dispersion=1.0,
    )


def pieces(top: float) -> list[tuple[float, float]]:
    """Split what lies below `top`, so that no piece hides a peak."""
    cuts = [cut for cut in (-50.0, -5.0, 0.0, 5.0, 50.0) if cut < top]
    return list(zip([-np.inf, *cuts], [*cuts, top], strict=True))


def test_equals_numerical_integration() -> None:
    # scipy.integrate.quad over delta inside and tau outside, three labels
    gaps, effective = [-0.12, 0.01, 0.03], 90.0
    found = found_for(gaps, effective=effective)
    se = np.sqrt(0.6 * 0.4 / effective)
    assert found[0].se == pytest.approx(se)

    def inner(tau: float, gap: float, below: float) -> float:
        # over u = delta / tau, where nothing is steep
        def at(u: float) -> float:
            # normal density of the gap, and Student's with 4 df: 3/8 (1 + u^2 / 4)^-5/2
            normal = exp(-0.5 * ((gap - tau * u) / se) ** 2) / se
            return normal * 0.375 * (1.0 + u * u / 4.0) ** -2.5

        return sum(float(quad(at, *part)[0]) for part in pieces(below / tau))

    def outer(below: float) -> float:
        def at(tau: float) -> float:
            rest = np.prod([inner(tau, gap, 1.0) for gap in gaps[1:]])
            return float(inner(tau, gaps[0], below) * rest) * exp(-0.5 * (tau / SCATTER_SD) ** 2)

        return float(quad(at, 0.0, 0.3, epsrel=1e-3, limit=20)[0])

    worse = outer(-0.05) / outer(1.0)
    assert found[0].worse == pytest.approx(worse, abs=2e-3)


def test_alike_ones_are_left_alone() -> None:
    found = found_for([0.0] * 8, effective=100.0)
    assert all(entry.worse < 0.05 for entry in found)
    assert all(entry.shrunk == pytest.approx(0.0, abs=1e-9) for entry in found)


def test_one_far_out_is_found_among_many_that_are_alike() -> None:
    found = found_for([-0.2, *[0.01, -0.01] * 7], effective=180.0)
    assert found[0].worse > 0.9
    assert max(entry.worse for entry in found[1:]) < 0.2


def test_it_leans_towards_the_others_and_the_more_the_fewer_its_cuttings() -> None:
    few, many = (found_for([-0.1, 0.0, 0.0, 0.0], effective=n)[0] for n in (20.0, 2_000.0))
    assert -0.1 < many.shrunk < few.shrunk < 0.0
    assert many.worse > few.worse


def test_two_batches_are_never_judged() -> None:
    assert found_for([-0.5, 0.0], effective=20.0, clusters=FEWEST_CLUSTERS - 1) == ()


def test_better_ones_are_not_worse() -> None:
    found = found_for([0.2, 0.0, 0.0], effective=200.0)
    assert found[0].worse < 1e-3
    assert found[0].shrunk > 0.1
