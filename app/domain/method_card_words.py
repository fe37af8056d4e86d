"""What a method card says, one line for each group of its values."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from app.domain.card_months import months_words, turned
from app.domain.cutting_types import CuttingType
from app.domain.hormones import NO_HORMONE
from app.domain.measures import span_words
from app.domain.method_cards import THIS_NURSERY, TYPE, CardValues
from app.domain.nursery import Hemisphere
from app.domain.standings import COMMON_PRACTICE

LABELS: Final[Mapping[str, str]] = {
    TYPE: "Cutting type",
    "months": "Months",
    "cut": "Cut",
    "section": "Part of the shoot",
    "length": "Length",
    "leaves": "Leaves left",
    "hormone": "Hormone",
    "cover": "Cover",
    "bottom_heat": "Bottom heat",
    "weeks": "Weeks to root",
    "mix": "Mix",
    "container": "Container",
    "notes": "Notes",
}


@dataclass(frozen=True, kw_only=True)
class CardLine:
    """One thing a card says: its label, the words, and where it comes from."""

    group: str
    label: str
    words: str
    standing: str


def card_lines(
    values: CardValues,
    *,
    cutting_type: CuttingType,
    standings: Mapping[str, str],
    hemisphere: Hemisphere,
) -> tuple[CardLine, ...]:
    """Return what a card says, months as this half of the globe counts them; blanks left out."""
    words = {
        TYPE: cutting_type.value,
        "months": months_words(turned(values.months, hemisphere=hemisphere)),
        "cut": values.cut.value if values.cut else "",
        "section": values.section.value if values.section else "",
        "length": span_words(low=values.length_cm_low, high=values.length_cm_high, unit="cm"),
        "leaves": span_words(low=values.leaves_low, high=values.leaves_high),
        "hormone": hormone_words(values),
        "cover": values.cover,
        "bottom_heat": span_words(
            low=values.bottom_heat_c_low, high=values.bottom_heat_c_high, unit="°C"
        ),
        "weeks": span_words(low=values.weeks_low, high=values.weeks_high, unit="weeks"),
        "mix": values.mix,
        "container": values.container,
        "notes": values.notes,
    }
    return tuple(
        CardLine(group=group, label=label, words=words[group], standing=standings.get(group, ""))
        for group, label in LABELS.items()
        if words[group]
    )


def card_sources(lines: tuple[CardLine, ...]) -> tuple[str, ...]:
    """Return the published works that the lines rest on, each once, in the order they come."""
    own = {"", COMMON_PRACTICE, THIS_NURSERY}
    return tuple(dict.fromkeys(line.standing for line in lines if line.standing not in own))


def hormone_words(values: CardValues) -> str:
    """Return the hormone in words, such as "IBA quick dip or talc 1,000 to 2,000 ppm".

    Where the lower strength is 0, none may do as well, and the words say so.
    """
    if not values.hormone_substance:
        return ""
    if values.hormone_substance == NO_HORMONE:
        return "no hormone"
    named = f"{values.hormone_substance} {values.hormone_form}".strip()
    low, high = values.hormone_ppm_low, values.hormone_ppm_high
    if low == 0 and high:
        return f"none, or {named} up to {high:,} ppm"
    return f"{named} {span_words(low=low, high=high, unit='ppm')}".strip()
