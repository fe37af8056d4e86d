"""Cautions at the work: what is named where, each with its standing, none a claim of safety.

Legionella in compost: Public Health Scotland, October 2024 (confirmed). Dust: J. Bartok in the
trade press and a handbook of the substrate industry (confirmed). The rest: common practice, no
source.
"""

from app.domain.hormones import NO_HORMONE, Hormone
from app.domain.work_cautions import (
    DUST,
    ELECTRICITY,
    FOOTING,
    HORMONE,
    KNIVES,
    MEDIUM,
    WATER,
    bench_cautions,
    sticking_cautions,
)


def test_sticking_names_knives_compost_dust_and_hormone_where_one_may_be_used() -> None:
    assert sticking_cautions(None) == (HORMONE, KNIVES, MEDIUM, DUST)
    assert sticking_cautions(Hormone(substance=NO_HORMONE)) == (KNIVES, MEDIUM, DUST)


def test_a_round_names_electricity_warm_water_and_wet_paths() -> None:
    assert bench_cautions() == (ELECTRICITY, WATER, FOOTING)
    assert "residual-current device" in ELECTRICITY.sentence
    assert "above 20 °C" in WATER.sentence


def test_every_caution_says_where_it_comes_from_and_none_says_safe() -> None:
    for caution in (*sticking_cautions(None), *bench_cautions()):
        assert caution.standing
        assert " safe " not in f" {caution.sentence.lower()} "
