"""Amounts of rooting hormone: substances and their salts, units of strength, dilution, weighing.

Acid and salt are never exchanged silently: whoever asks for the one and has the other names both.
"""

import re
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from app.domain.hormone_limits import QUICK_DIP_MOST_PPM, SOAK_MOST_PPM
from app.domain.hormones import HIGHEST_PPM
from app.domain.problems import NotAccepted
from app.domain.standings import COMMON_PRACTICE, Advisory

PPM_PER_PERCENT: Final = 10_000
STRENGTH_EXAMPLE: Final = 'Give a strength above 0 such as "2000 ppm", "0.2 %", "2 g/l" or "5 mM".'
# From memory: about 250 mg of IBA as acid dissolve in a litre of water.
_ACID_IN_WATER_PPM: Final = 250
# A share of alcohol from which the stem base may suffer (common practice, no source).
_STRONG_SOLVENT_SHARE: Final = 0.5
_NUMBER: Final = r"(?P<number>[0-9]{1,3}(?:,[0-9]{3})+(?:\.[0-9]+)?|[0-9]+(?:[.,][0-9]+)?)"
_STRENGTH: Final = re.compile(
    rf"{_NUMBER}\s*(?P<unit>ppm|mg/l|mg/kg|mg/ml|mg/cc|mg/g|g/l|g/kg|%|mm|mmol/l)?", re.IGNORECASE
)
_THOUSANDS: Final = re.compile(r"[0-9]{1,3}(?:,[0-9]{3})+(?:\.[0-9]+)?")
_PPM_OF: Final = {
    "": 1.0, "ppm": 1.0, "mg/l": 1.0, "mg/kg": 1.0, "g/l": 1000.0, "g/kg": 1000.0,
    "mg/ml": 1000.0, "mg/cc": 1000.0, "mg/g": 1000.0, "%": float(PPM_PER_PERCENT),
}  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class Substance:
    """A rooting substance: grams per mole, and the acid it counts as (its own name for an acid)."""

    name: str
    molar_g: float
    acid: str

    @property
    def is_acid(self) -> bool:
        """Whether it is an acid, which hardly dissolves in water."""
        return self.acid == self.name


# Molar masses of the anhydrous substances, from standard atomic weights.
SUBSTANCES: Final = {
    each.name: each
    for each in (
        Substance(name="IBA", molar_g=203.2376, acid="IBA"),
        Substance(name="K-IBA", molar_g=241.3280, acid="IBA"),
        Substance(name="NAA", molar_g=186.2071, acid="NAA"),
        Substance(name="K-NAA", molar_g=224.2975, acid="NAA"),
        Substance(name="Na-NAA", molar_g=208.1889, acid="NAA"),
        Substance(name="IAA", molar_g=175.1844, acid="IAA"),
        Substance(name="K-IAA", molar_g=213.2747, acid="IAA"),
    )
}


@dataclass(frozen=True, kw_only=True)
class Dilution:
    """So much stock and so much of what thins it, in ml; the stock's solvent's share in the dip."""

    stock_ml: float
    thinner_ml: float
    solvent_share: float


def parse_strength(text: str, *, field: str, substance: Substance | None = None) -> float:
    """Return a strength in ppm (mg per litre or kg), above 0 and up to 100,000.

    A bare number is ppm. Millimoles need the substance they are of.

    Raises:
        NotAccepted: no strength, nothing, or too much.
    """
    typed = _STRENGTH.fullmatch(" ".join(text.split()))
    if typed is None:
        raise NotAccepted.at(field, STRENGTH_EXAMPLE)
    unit = (typed["unit"] or "").lower()
    if unit in {"mm", "mmol/l"}:
        if substance is None:
            raise NotAccepted.at(field, "Name the substance: millimoles weigh by what they are of.")
        ppm = _value(typed["number"]) * substance.molar_g
    else:
        ppm = _value(typed["number"]) * _PPM_OF[unit]
    if not 0 < ppm <= HIGHEST_PPM:
        sentence = f"Give a strength above 0 and up to {HIGHEST_PPM:,} ppm, which is 10 %."
        raise NotAccepted.at(field, sentence)
    return ppm


def equal_ppm(ppm: float, *, of: Substance, given_as: Substance) -> float:
    """Return the ppm of `given_as` that hold as much of the acid as `ppm` of `of`.

    Raises:
        NotAccepted: the two are not the acid and a salt of it.
    """
    if of.acid != given_as.acid:
        sentence = (
            f"{given_as.name} cannot stand in for {of.name}: they are different substances, not "
            "an acid and its salt. Choose the substance that is wanted."
        )
        raise NotAccepted.at("stock_of", sentence)
    return ppm * given_as.molar_g / of.molar_g


def dilute(
    stock_ppm: float, *, wanted_ppm: float, volume_ml: float, solvent_share: float = 0.0
) -> Dilution:
    """Return what to take of a stock for so many ml at the strength wanted: C1 V1 = C2 V2.

    `solvent_share` (0 to 1) is how much of the stock is alcohol or another solvent.

    Raises:
        NotAccepted: the stock is weaker than what is wanted.
    """
    if wanted_ppm > stock_ppm:
        sentence = (
            f"This cannot be done: a stock of {stock_ppm:,.6g} ppm is weaker than the "
            f"{wanted_ppm:,.6g} ppm wanted, and thinning only weakens. Take a stronger product."
        )
        raise NotAccepted.at("stock", sentence)
    stock_ml = volume_ml * wanted_ppm / stock_ppm
    return Dilution(
        stock_ml=stock_ml,
        thinner_ml=volume_ml - stock_ml,
        solvent_share=solvent_share * stock_ml / volume_ml,
    )


def weigh_mg(wanted_ppm: float, *, volume_ml: float, purity_share: float = 1.0) -> float:
    """Return the mg of powder of a purity (above 0, up to 1) for so many ml at a strength."""
    return wanted_ppm * volume_ml / 1000 / purity_share


def ratio_strengths(ppm: float, *, parts: float, to: float) -> tuple[float, float]:
    """Return the ppm of "1:10" read as 1 part in 10, and read as 1 part to 10.

    Raises:
        NotAccepted: there would be more product than mixture.
    """
    if to < parts:
        raise NotAccepted.at("ratio", 'Give the product first, such as "1:10".')
    return ppm * parts / to, ppm * parts / (parts + to)


def solubility_advisories(
    substance: Substance, *, ppm: float, solvent_share: float
) -> Iterator[Advisory]:
    """Yield what to mind about the solvent of a finished dip."""
    if substance.is_acid and ppm > _ACID_IN_WATER_PPM and solvent_share < _STRONG_SOLVENT_SHARE:
        sentence = (
            f"{substance.name} is an acid and hardly dissolves in water: it may drop out as this "
            "is thinned. If it turns cloudy, thin with the stock's own solvent, or use a salt."
        )
        yield Advisory(field="wanted", sentence=sentence, standing="from memory", urgent=True)
    if solvent_share >= _STRONG_SOLVENT_SHARE:
        sentence = (
            f"{solvent_share:.0%} of the dip is solvent: strong alcohol can injure the stem base, "
            "and it burns. Try a few cuttings first; no flame, ventilate."
        )
        standing = COMMON_PRACTICE
        yield Advisory(
            field="solvent", sentence=sentence.replace("%", " %"), standing=standing, urgent=True
        )


def use_advisories(ppm: float, *, soak: bool) -> Iterator[Advisory]:
    """Yield a warning where a strength is that of the other use."""
    if soak and ppm > SOAK_MOST_PPM:
        sentence = (
            f"{ppm:,.6g} ppm is the strength of a dip. A soak of hours has 20 to {SOAK_MOST_PPM} "
            "ppm: hours in this would kill the cuttings."
        )
    elif not soak and ppm <= SOAK_MOST_PPM:
        sentence = (
            f"{ppm:,.6g} ppm is the strength of a soak of hours: a dip of seconds in it does "
            "little. Check which is meant."
        )
    elif not soak and ppm > QUICK_DIP_MOST_PPM:
        sentence = f"{ppm:,.6g} ppm: quick dips usually have up to {QUICK_DIP_MOST_PPM:,} ppm."
    else:
        return
    yield Advisory(field="wanted", sentence=sentence, standing=COMMON_PRACTICE, urgent=True)


def _value(number: str) -> float:
    if _THOUSANDS.fullmatch(number):
        return float(number.replace(",", ""))
    return float(number.replace(",", "."))
