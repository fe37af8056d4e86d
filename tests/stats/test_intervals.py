"""Wilson's interval against the printed table, reference libraries and its own algebra."""

import csv
import math
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from statsmodels.stats.proportion import proportion_confint

from app.stats.intervals import two_sided_z, wilson_interval

NEWCOMBE = Path(__file__).parent.parent / "data" / "newcombe_1998_table1_single.csv"


def newcombe_rows() -> list[tuple[int, int, float, float]]:
    lines = NEWCOMBE.read_text(encoding="utf-8").splitlines()
    rows = csv.DictReader(line for line in lines if not line.startswith("#"))
    return [
        (int(row["r"]), int(row["n"]), float(row["wilson_lo"]), float(row["wilson_hi"]))
        for row in rows
    ]


@pytest.mark.parametrize(("successes", "size", "low", "high"), newcombe_rows())
def test_it_gives_the_printed_limits(successes: int, size: int, low: float, high: float) -> None:
    # Newcombe (1998) Statistics in Medicine 17:857-872, Table I, method 3 (score, no continuity
    # correction), printed to four decimals. CONFIRMED in works that quote the table.
    interval = wilson_interval(successes, size=size)
    assert interval is not None
    assert interval.low == pytest.approx(low, abs=5e-5)
    assert interval.high == pytest.approx(high, abs=5e-5)


@pytest.mark.parametrize(
    ("successes", "size", "low", "high"),
    [
        # COMPUTED with statsmodels 0.15.0 and scipy 1.17.1, to six decimals.
        (81, 263, 0.255289, 0.366210),
        (15, 148, 0.062386, 0.160487),
        (0, 20, 0.000000, 0.161125),
        (1, 29, 0.006113, 0.171755),
        (20, 20, 0.838875, 1.000000),
        (29, 29, 0.883030, 1.000000),
        (0, 1, 0.000000, 0.793451),
        (1, 1, 0.206549, 1.000000),
        (0, 10, 0.000000, 0.277533),
        (5, 10, 0.236593, 0.763407),
        (10, 10, 0.722467, 1.000000),
        (37, 50, 0.604468, 0.841285),
        (18, 24, 0.551006, 0.880006),
        (450, 500, 0.870578, 0.923322),
    ],
)
def test_it_keeps_its_six_decimals(successes: int, size: int, low: float, high: float) -> None:
    interval = wilson_interval(successes, size=size)
    assert interval is not None
    assert (interval.low, interval.high) == pytest.approx((low, high), abs=1e-6)


@pytest.mark.parametrize(
    ("successes", "low", "high"),
    [(156, 0.5877, 0.7076), (107, 0.3843, 0.5091), (84, 0.2924, 0.4123), (31, 0.0925, 0.1775)],
)
def test_plum_root_cuttings(successes: int, low: float, high: float) -> None:
    # Counts from Bartlett (1935) J. R. Statist. Soc. Suppl. 2:248-252 (CONFIRMED), 240 in each;
    # limits COMPUTED with statsmodels 0.15.0.
    interval = wilson_interval(successes, size=240)
    assert interval is not None
    assert (interval.low, interval.high) == pytest.approx((low, high), abs=5e-5)


@given(
    size=st.integers(1, 5_000),
    part=st.floats(0.0, 1.0),
    level=st.sampled_from([0.5, 0.8, 0.9, 0.95, 0.99]),
)
def test_it_agrees_with_a_reference_library(size: int, part: float, level: float) -> None:
    successes = round(part * size)
    interval = wilson_interval(successes, size=size, level=level)
    low, high = proportion_confint(successes, size, alpha=1.0 - level, method="wilson")
    assert interval is not None
    assert (interval.low, interval.high) == pytest.approx((low, high), abs=1e-9)


@given(size=st.floats(1e-3, 1e6))
def test_none_and_all_have_closed_forms(size: float) -> None:
    squared = two_sided_z() ** 2
    none, every = wilson_interval(0.0, size=size), wilson_interval(size, size=size)
    assert none is not None
    assert every is not None
    assert none.low == 0.0
    assert none.high == pytest.approx(squared / (size + squared), rel=1e-12)
    assert every.low == pytest.approx(size / (size + squared), rel=1e-12)
    assert every.high == 1.0


@given(size=st.floats(1e-3, 1e6), part=st.floats(0.0, 1.0))
def test_limits_enclose_the_share_and_mirror(size: float, part: float) -> None:
    successes = part * size
    interval = wilson_interval(successes, size=size)
    mirror = wilson_interval(size - successes, size=size)
    assert interval is not None
    assert mirror is not None
    assert 0.0 <= interval.low <= successes / size + 1e-12
    assert successes / size - 1e-12 <= interval.high <= 1.0
    assert interval.low == pytest.approx(1.0 - mirror.high, abs=1e-9)
    assert interval.high == pytest.approx(1.0 - mirror.low, abs=1e-9)


@given(size=st.floats(1.0, 1e4), part=st.floats(0.0, 1.0))
def test_more_items_narrow_it_and_more_certainty_widens_it(size: float, part: float) -> None:
    once = wilson_interval(part * size, size=size)
    twice = wilson_interval(part * 2.0 * size, size=2.0 * size)
    surer = wilson_interval(part * size, size=size, level=0.99)
    assert once is not None
    assert twice is not None
    assert surer is not None
    assert twice.high - twice.low < once.high - once.low < surer.high - surer.low


def test_nothing_seen_gives_no_interval() -> None:
    assert wilson_interval(0, size=0) is None


@pytest.mark.parametrize(
    ("successes", "size"),
    [(-1, 10), (11, 10), (1, 0), (-1, -1), (math.nan, 10), (1, math.nan), (1, math.inf)],
)
def test_it_refuses_what_is_no_proportion(successes: float, size: float) -> None:
    with pytest.raises(ValueError, match="no proportion"):
        wilson_interval(successes, size=size)


def test_the_normal_quantile() -> None:
    # 1.959963984540054: the usual two-sided 95 % point, as scipy 1.17.1 norm.ppf(0.975) prints it.
    assert two_sided_z() == pytest.approx(1.959963984540054, abs=1e-12)


@pytest.mark.parametrize("level", [0.0, 1.0, -0.1, 1.5, math.nan])
def test_it_refuses_an_impossible_level(level: float) -> None:
    with pytest.raises(ValueError, match="a level lies between 0 and 1"):
        two_sided_z(level)
