"""Cautions beside the work of taking, sticking and looking: reminders, never a claim of safety."""

from dataclasses import dataclass
from typing import Final

from app.domain.hormones import NO_HORMONE, Hormone
from app.domain.standings import COMMON_PRACTICE


@dataclass(frozen=True, kw_only=True)
class WorkCaution:
    """What to mind at one kind of work, with where it comes from."""

    work: str
    sentence: str
    standing: str = COMMON_PRACTICE


KNIVES: Final = WorkCaution(
    work="Knives and secateurs",
    sentence=(
        "Cut away from yourself, keep a sheath and first aid at hand, disinfect between stock "
        "plants, keep tetanus cover up."
    ),
)
HORMONE: Final = WorkCaution(
    work="Rooting hormone",
    sentence=(
        "Gloves, no dust, no eating, wash hands; keep the label and the data sheet. Do not put "
        "used powder back into the tub. Dips in alcohol burn: no flame, ventilate."
    ),
    standing="flammability and not returning powder on suppliers' pages; the rest common practice",
)
# Public Health Scotland, October 2024 (CONFIRMED).
MEDIUM: Final = WorkCaution(
    work="Compost and potting media",
    sentence=(
        "Open bags slowly and away from the face, moisten dry media, ventilate, wear gloves, wash "
        "hands before eating: Legionella longbeachae lives in compost. Do not store media in the "
        "greenhouse."
    ),
    standing="Public Health Scotland, October 2024",
)
# Nuisance dust and the fire in dry peat: CONFIRMED on a trade-press article by J. Bartok and in a
# handbook of the substrate industry.
DUST: Final = WorkCaution(
    work="Dust of perlite, vermiculite and peat",
    sentence=(
        "Damp it before tipping, ventilate, wear a mask and eye protection; keep flames from dry "
        "peat."
    ),
    standing="J. Bartok in the trade press and a handbook of the substrate industry",
)
ELECTRICITY: Final = WorkCaution(
    work="Electricity by mist and heated benches",
    sentence=(
        "Behind a residual-current device, with splash-proof fittings and tested equipment only; "
        "no extension leads on wet floors. Switch off before reaching in."
    ),
)
WATER: Final = WorkCaution(
    work="Mist, hoses and tanks",
    sentence=(
        "Leave no full hose in the sun, keep tanks cool and clean, and use no stored water above "
        "20 °C for mist: Legionella lives in warm water. Ask a competent person."
    ),
)
FOOTING: Final = WorkCaution(
    work="Hot benches and wet paths",
    sentence=(
        "Mind heated plates and wires, keep paths dry and clear, lift trays with a straight back."
    ),
)


def sticking_cautions(hormone: Hormone | None) -> tuple[WorkCaution, ...]:
    """Return what to mind when sticking; the hormone's only where one is, or may be, used."""
    if hormone is not None and hormone.substance == NO_HORMONE:
        return (KNIVES, MEDIUM, DUST)
    return (HORMONE, KNIVES, MEDIUM, DUST)


def bench_cautions() -> tuple[WorkCaution, ...]:
    """Return what to mind at benches and on a round."""
    return (ELECTRICITY, WATER, FOOTING)
