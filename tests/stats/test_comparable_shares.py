"""What is left to compare: R squared of a reference library, and what went with what."""

import numpy as np
import pytest
import statsmodels.api as sm

from app.stats.category_columns import category_columns, joint_levels
from app.stats.comparable_shares import companion, comparable_share


def test_agrees_with_weighted_least_squares() -> None:
    rng = np.random.default_rng(3)
    columns = np.column_stack([np.ones(120), rng.integers(0, 2, (120, 4))]).astype(float)
    treated = (rng.random(120) < 0.2 + 0.5 * columns[:, 1]).astype(float)
    weights = rng.uniform(1.0, 8.0, 120)
    theirs = sm.WLS(treated, columns, weights=weights).fit()
    share = comparable_share(treated, weights=weights, columns=columns)
    assert share == pytest.approx(1.0 - theirs.rsquared, abs=1e-10)


def test_doubled_columns_change_nothing() -> None:
    rng = np.random.default_rng(4)
    column = rng.integers(0, 2, 50).astype(float)
    once = np.column_stack([np.ones(50), column])
    twice = np.column_stack([once, column])
    treated = rng.integers(0, 2, 50).astype(float)
    shares = [comparable_share(treated, weights=np.ones(50), columns=x) for x in (once, twice)]
    assert shares[0] == pytest.approx(shares[1], abs=1e-10)


def test_a_factor_that_went_with_nothing_is_left_whole() -> None:
    treated = np.array([1.0, 0.0, 1.0, 0.0])
    assert comparable_share(treated, weights=np.ones(4), columns=np.ones((4, 1))) == 1.0


def test_a_factor_that_does_not_vary_has_nothing_to_compare() -> None:
    assert comparable_share(np.ones(4), weights=np.ones(4), columns=np.ones((4, 1))) == 0.0


def test_what_always_went_together_is_named() -> None:
    person = np.array([7, 7, 7, 8, 8, 9, 9, 9])
    treated = (person == 7).astype(float)
    found = companion(treated, weights=np.full(8, 5.0), levels=person)
    assert found.share == pytest.approx(0.0, abs=1e-12)
    assert (found.level, found.treated) == (7, True)


def test_what_went_with_the_other_side_is_named_with_it() -> None:
    person = np.array([7, 7, 7, 7, 8, 8, 9, 9])
    treated = (person != 7).astype(float)
    found = companion(treated, weights=np.ones(8), levels=person)
    assert (found.level, found.treated) == (7, False)


def test_of_two_that_went_as_closely_the_treated_one_is_named() -> None:
    person = np.array([7, 8, 7, 8])
    for treated in (person == 8, person == 7):
        found = companion(treated.astype(float), weights=np.ones(4), levels=person)
        assert found.treated
        assert found.match == pytest.approx(1.0)


def test_match_is_the_squared_correlation() -> None:
    rng = np.random.default_rng(6)
    person, weights = rng.integers(0, 4, 70), rng.uniform(1.0, 6.0, 70)
    treated = (rng.random(70) < 0.2 + 0.2 * person).astype(float)
    found = companion(treated, weights=weights, levels=person)
    table = np.cov(treated, person == found.level, aweights=weights)
    assert found.match == pytest.approx(table[0, 1] ** 2 / (table[0, 0] * table[1, 1]))


def test_an_even_deal_leaves_all_to_compare() -> None:
    person = np.array([1, 1, 2, 2])
    found = companion(np.array([1.0, 0.0, 1.0, 0.0]), weights=np.ones(4), levels=person)
    assert found.share == pytest.approx(1.0)


def test_share_inside_levels_is_the_one_after_their_columns() -> None:
    rng = np.random.default_rng(5)
    person = rng.integers(0, 5, 90)
    treated = (rng.random(90) < 0.1 + 0.2 * person).astype(float)
    weights = rng.uniform(1.0, 6.0, 90)
    columns = np.column_stack([np.ones(90), category_columns(person)])
    left = comparable_share(treated, weights=weights, columns=columns)
    assert companion(treated, weights=weights, levels=person).share == pytest.approx(left, abs=1e-9)


def test_categories_stand_as_columns_without_the_most_frequent() -> None:
    columns = category_columns(np.array([4, 9, 9, 2]))
    assert columns.tolist() == [[0, 1], [0, 0], [0, 0], [1, 0]]
    assert category_columns(np.array([3, 3])).shape == (2, 0)


def test_joint_levels_are_alike_where_all_are() -> None:
    joint = joint_levels([np.array([1, 1, 2, 1]), np.array([5, 6, 5, 5])], count=4)
    assert joint[0] == joint[3]
    assert len(set(joint.tolist())) == 3
    assert joint_levels([], count=3).tolist() == [0, 0, 0]
