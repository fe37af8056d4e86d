"""Estimates as pages show them, where little or nothing is known."""

from dataclasses import replace

import numpy as np
import pytest

from app.domain.fit_records import FitRecords
from app.domain.nursery_fits import NurseryFit, fit_nursery
from app.domain.rate_estimates import estimate_groups
from app.domain.rate_members import RateMembers
from app.domain.strike_rates_keys import RateKey
from app.stats.histories import Histories


@pytest.fixture(scope="module")
def nothing_learned() -> NurseryFit:
    none, number = np.zeros(0), np.zeros(0, dtype=int)
    fit = fit_nursery(
        FitRecords(
            batch_ids=number,
            genus=number,
            cutting_type=number,
            method=number,
            month=number,
            histories=Histories(
                cluster=number,
                start=none,
                end=none,
                onsets=none,
                failures=none,
                size=none,
                waiting=none,
                waiting_age=none,
                written_off=none,
                written_off_age=none,
            ),
        )
    )
    # at the assumed correlation, 0.12, instead of the mean of what is thought of it
    return replace(fit, cluster_nodes=((1.0 / 0.12 - 1.0, 1.0),))


def members(rooted: list[int], stuck: list[int], *, unknown: int = 0) -> RateMembers:
    count = len(stuck)
    zeros = np.zeros(count, dtype=int)
    return RateMembers(
        batch_ids=np.arange(count),
        groups=zeros,
        values={RateKey.PERSON: zeros},
        rooted=np.array(rooted, dtype=float),
        failed=np.array(stuck, dtype=float) - rooted - unknown,
        unknown=np.full(count, float(unknown)),
    )


@pytest.mark.parametrize(
    ("rooted", "stuck", "expected"),
    # COMPUTED once by an independent prototype: median, 2.5 and 97.5 %, printed without decimals.
    [
        ([0], [4], (16, 1, 64)),
        ([4], [4], (84, 36, 99)),
        ([0], [300], (4, 0, 32)),
        ([300], [300], (96, 68, 100)),
        ([20], [30], (63, 26, 89)),
        ([20] * 10, [30] * 10, (66, 59, 73)),
    ],
)
def test_few_batches_by_themselves(
    nothing_learned: NurseryFit,
    rooted: list[int],
    stuck: list[int],
    expected: tuple[float, float, float],
) -> None:
    (found,) = estimate_groups(
        members(rooted, stuck), groups=1, by=(RateKey.PERSON,), fit=nothing_learned
    )
    assert found is not None
    limits = [100.0 * share for share in (found.share, found.low_share, found.high_share)]
    assert limits == pytest.approx(expected, abs=1.6)
    assert 0.0 < found.low_share < found.share < found.high_share < 1.0
    assert not found.leans


def test_a_group_without_batches_has_no_estimate(nothing_learned: NurseryFit) -> None:
    found = estimate_groups(
        members([20], [30]), groups=2, by=(RateKey.PERSON,), fit=nothing_learned
    )
    assert found[0] is not None
    assert found[1] is None


def test_nothing_is_forecast_before_anything_is_learned(nothing_learned: NurseryFit) -> None:
    found = estimate_groups(
        members([20], [30], unknown=5), groups=1, by=(RateKey.PERSON,), fit=nothing_learned
    )
    assert found == (None,)
