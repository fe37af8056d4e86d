"""Cautions beside the work of taking and sticking: reminders, never a claim that it is safe."""

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
        "hands before eating: Legionella longbeachae lives in compost."
    ),
    standing="Public Health Scotland, October 2024",
)


def sticking_cautions(hormone: Hormone | None) -> tuple[WorkCaution, ...]:
    """Return what to mind when sticking; the hormone's only where one is, or may be, used."""
    if hormone is not None and hormone.substance == NO_HORMONE:
        return (KNIVES, MEDIUM)
    return (HORMONE, KNIVES, MEDIUM)
