"""Hormone amounts against molmass, a bulletin's units, and exact arithmetic."""

import molmass
import pytest

from app.domain.hormone_amounts import (
    SUBSTANCES,
    dilute,
    equal_ppm,
    parse_strength,
    ratio_strengths,
    solubility_advisories,
    use_advisories,
    weigh_mg,
)
from app.domain.problems import NotAccepted

FORMULAS = {
    "IBA": "C12H13NO2", "K-IBA": "C12H12KNO2", "IAA": "C10H9NO2", "K-IAA": "C10H8KNO2",
    "NAA": "C12H10O2", "K-NAA": "C12H9KO2", "Na-NAA": "C12H9NaO2",
}  # fmt: skip
IBA, K_IBA, NAA, K_NAA = (SUBSTANCES[name] for name in ("IBA", "K-IBA", "NAA", "K-NAA"))


def test_every_substance_has_its_formula_here() -> None:
    assert set(FORMULAS) == set(SUBSTANCES)


@pytest.mark.parametrize(("name", "formula"), FORMULAS.items())
def test_molar_masses(name: str, formula: str) -> None:
    assert SUBSTANCES[name].molar_g == pytest.approx(molmass.Formula(formula).mass, abs=0.01)


# Computed from the molar masses of molmass 2026.1.8; tolerance 0.01 %.
@pytest.mark.parametrize(
    ("ppm", "of", "given_as", "expected"),
    [
        (1.0, K_IBA, IBA, 0.842164),
        (1.0, IBA, K_IBA, 1.187418),
        (1.0, K_NAA, NAA, 0.830179),
        (1.0, NAA, K_NAA, 1.204559),
        (1000.0, K_IBA, IBA, 842.16),
        (3000.0, IBA, K_IBA, 3562.25),
    ],
)
def test_salt_equivalents(ppm: float, of: object, given_as: object, expected: float) -> None:
    found = equal_ppm(ppm, of=of, given_as=given_as)  # type: ignore[arg-type]
    assert found == pytest.approx(expected, rel=1e-4)


def test_another_substance_never_stands_in() -> None:
    with pytest.raises(NotAccepted, match="NAA cannot stand in for IBA"):
        equal_ppm(1000, of=IBA, given_as=NAA)


# Doran 1941, Massachusetts Agricultural Experiment Station Bulletin 382 (CONFIRMED): dips of 1 to
# 20 mg in 1 cc, talc of 2 and 5 to 12 mg per gram, soaks of 50 mg/l. Mesen et al. 1997: 1.6 %.
@pytest.mark.parametrize(
    ("typed", "ppm"),
    [
        ("1 mg/cc", 1000), ("20 mg/cc", 20_000), ("2 mg/g", 2000), ("12 mg/g", 12_000),
        ("50 mg/l", 50), ("1.6 %", 16_000), ("0.1%", 1000), ("0,3 %", 3000), ("0.8 %", 8000),
        ("1 g/L", 1000), ("1,500 ppm", 1500), ("2000", 2000), ("1000 mg/kg", 1000),
    ],
)  # fmt: skip
def test_units_of_strength(typed: str, ppm: float) -> None:
    assert parse_strength(typed, field="wanted") == pytest.approx(ppm)


def test_millimoles_weigh_by_their_substance() -> None:
    assert parse_strength("10 mM", field="w", substance=IBA) == pytest.approx(2032.38, rel=1e-4)
    assert parse_strength("10 mM", field="w", substance=NAA) == pytest.approx(1862.07, rel=1e-4)
    assert 1000 / IBA.molar_g == pytest.approx(4.92035, rel=1e-4)
    assert 1000 / K_IBA.molar_g == pytest.approx(4.14374, rel=1e-4)
    with pytest.raises(NotAccepted, match="Name the substance"):
        parse_strength("10 mM", field="w")


@pytest.mark.parametrize("typed", ["", "0", "0 %", "-5 ppm", "strong", "11 %", "5 spoons"])
def test_no_strength(typed: str) -> None:
    with pytest.raises(NotAccepted):
        parse_strength(typed, field="wanted")


# Exact arithmetic.
@pytest.mark.parametrize(
    ("stock", "wanted", "volume", "expected"),
    [
        (10_000, 2000, 500, (100, 400)),
        (10_000, 1000, 1000, (100, 900)),
        (5000, 1250, 250, (62.5, 187.5)),
        (2000, 2000, 100, (100, 0)),
    ],
)
def test_dilution(stock: float, wanted: float, volume: float, expected: object) -> None:
    made = dilute(stock, wanted_ppm=wanted, volume_ml=volume)
    assert (made.stock_ml, made.thinner_ml) == expected


def test_a_weak_stock_is_refused() -> None:
    with pytest.raises(NotAccepted, match=r"2,000 ppm is weaker than the 3,000 ppm wanted"):
        dilute(2000, wanted_ppm=3000, volume_ml=500)


def test_the_solvent_is_thinned_with_the_rest() -> None:
    made = dilute(10_000, wanted_ppm=2000, volume_ml=500, solvent_share=0.5)
    assert made.solvent_share == pytest.approx(0.1)


def test_weighing() -> None:
    assert weigh_mg(3000, volume_ml=500) == pytest.approx(1500)
    assert weigh_mg(3000, volume_ml=500, purity_share=0.98) == pytest.approx(1530.6, abs=0.05)
    as_salt = equal_ppm(1000, of=IBA, given_as=K_IBA)
    assert weigh_mg(as_salt, volume_ml=500) == pytest.approx(593.71, rel=1e-4)


def test_a_ratio_has_two_readings() -> None:
    inside, added = ratio_strengths(10_000, parts=1, to=10)
    assert (inside, added) == (1000, pytest.approx(909.09, abs=0.005))
    assert ratio_strengths(10_000, parts=1, to=9)[1] == 1000
    assert ratio_strengths(5000, parts=1, to=9)[1] == 500
    with pytest.raises(NotAccepted, match="product first"):
        ratio_strengths(10_000, parts=10, to=1)


def test_acids_in_water_and_strong_alcohol_are_warned_of() -> None:
    def warned(substance: object, ppm: float, share: float) -> str:
        found = solubility_advisories(substance, ppm=ppm, solvent_share=share)  # type: ignore[arg-type]
        return " ".join(each.words for each in found)

    assert "hardly dissolves in water" in warned(IBA, 2000, 0.1)
    assert warned(K_IBA, 2000, 0.1) == ""
    assert warned(IBA, 100, 0.0) == ""
    assert "60 % of the dip is solvent" in warned(IBA, 2000, 0.6)


# 20 to 200 ppm for a soak, up to 20,000 for a dip: common practice, no source.
@pytest.mark.parametrize(
    ("ppm", "soak", "said"),
    [
        (2000, True, "would kill the cuttings"),
        (200, True, ""),
        (100, False, "strength of a soak"),
        (2000, False, ""),
        (20_001, False, "usually have up to 20,000"),
    ],
)
def test_a_slip_between_dip_and_soak(ppm: float, soak: bool, said: str) -> None:
    words = " ".join(each.words for each in use_advisories(ppm, soak=soak))
    assert said in words
    assert bool(said) is bool(words)
