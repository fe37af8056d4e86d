"""What is known of finished and of open batches."""

from dataclasses import replace
from functools import lru_cache

import numpy as np
import pytest

from app.domain.comparisons_batches import LoggedBatches, Outcomes, known_outcomes
from app.domain.fit_records import FitRecords
from app.domain.nursery_fits import NurseryFit, fit_nursery
from app.stats.histories import Histories
from tests.domain.compared_batches import logged
from tests.simulated_nursery import Group, simulate


@lru_cache(maxsize=1)
def _nursery() -> tuple[Histories, NurseryFit]:
    """Forty batches of one genus, the younger ones still open, and what they teach."""
    histories = simulate(
        (Group(rate=0.6),),
        group_of=np.zeros(40, dtype=int),
        stuck_ago=np.linspace(20.0, 200.0, 40),
        rng=np.random.default_rng(19),
    ).histories
    ones = np.ones(40, dtype=np.int64)
    records = FitRecords(
        batch_ids=np.arange(1, 41),
        genus=ones,
        cutting_type=ones,
        method=ones,
        month=5 * ones,
        histories=histories,
    )
    return histories, fit_nursery(records)


def _logged(histories: Histories) -> LoggedBatches:
    rooted = histories.total(histories.onsets)
    return logged(histories.size, rooted, unknown=histories.waiting)


def _known() -> tuple[LoggedBatches, Outcomes]:
    histories, fit = _nursery()
    batches = _logged(histories)
    return batches, known_outcomes(batches, fit=fit)


def test_finished_batches_stand_with_their_counts() -> None:
    batches, known = _known()
    finished = batches.unknown == 0
    assert finished.sum() >= 12
    assert known.usable[finished].all()
    assert not known.nearly[finished].any()
    shares = (batches.rooted / batches.stuck)[finished]
    assert known.shares[finished] == pytest.approx(shares)
    assert known.sizes[finished] == pytest.approx(batches.stuck[finished])


def test_nearly_finished_ones_join_within_what_their_counts_allow() -> None:
    batches, known = _known()
    few = (batches.unknown > 0) & (batches.unknown < 0.3 * batches.stuck)
    assert few.any()
    assert known.nearly.tolist() == few.tolist()
    low = batches.rooted / batches.stuck
    high = (batches.rooted + batches.unknown) / batches.stuck
    assert (known.shares[few] >= low[few]).all()
    assert (known.shares[few] <= high[few]).all()
    assert (known.sizes[few] <= batches.stuck[few]).all()
    assert (known.sizes[few] > 0.0).all()


def test_batches_with_much_unknown_are_left_out() -> None:
    batches, known = _known()
    many = batches.unknown >= 0.3 * batches.stuck
    assert many.any()
    assert not known.usable[many].any()


def test_before_enough_are_finished_and_without_a_fit_only_finished_ones_count() -> None:
    histories, fit = _nursery()
    batches = _logged(histories)
    finished = (batches.unknown == 0).tolist()
    young = replace(fit, finished=11)
    assert known_outcomes(batches, fit=young).usable.tolist() == finished
    assert known_outcomes(batches, fit=None).usable.tolist() == finished


def test_an_open_batch_that_was_not_learned_from_is_left_out() -> None:
    histories, fit = _nursery()
    batches = replace(_logged(histories), batch_ids=np.arange(1001, 1041))
    assert known_outcomes(batches, fit=fit).nearly.sum() == 0


def test_effective_cuttings_are_those_of_each_batch() -> None:
    known = known_outcomes(logged([30, 300], [20, 200]), fit=None)
    # 30 / (1 + 29 x 0.12) = 6.696 and 300 / (1 + 299 x 0.12) = 8.134
    assert known.weights(correlation=0.12) == pytest.approx([6.696, 8.134], abs=1e-3)
    assert known.weights(correlation=0.0) == pytest.approx([30.0, 300.0])
