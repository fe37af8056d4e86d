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
    "material": "From what",
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
    "light": "Light",
    "aftercare": "Aftercare",
    "checks": "Checks",
    "notes": "Notes",
}
LISTS: Final[Mapping[str, str]] = {
    "steps": "Steps",
    "troubles": "What usually goes wrong",
}
# What stands in a sentence beside the form of a batch; the rest is read on the card.
SHORT_GROUPS: Final = frozenset(
    {
        "months", "cut", "section", "length", "leaves", "hormone", "cover", "bottom_heat",
        "weeks", "mix", "container",
    }
)  # fmt: skip


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
        "material": values.material,
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
        "light": values.light,
        "aftercare": values.aftercare,
        "checks": values.checks,
        "notes": values.notes,
    }
    return tuple(
        CardLine(group=group, label=label, words=words[group], standing=standings.get(group, ""))
        for group, label in LABELS.items()
        if words[group]
    )


def card_sources(lines: tuple[CardLine, ...], *, lists: Mapping[str, str]) -> tuple[str, ...]:
    """Return the published works that a card rests on, each once, in the order they come.

    `lists` are the standings of its steps and of what goes wrong.
    """
    own = {"", COMMON_PRACTICE, THIS_NURSERY}
    standings = (*(line.standing for line in lines), *lists.values())
    return tuple(dict.fromkeys(standing for standing in standings if standing not in own))


@dataclass(frozen=True, kw_only=True)
class CardChange:
    """What a version says otherwise than the one before it; "" where one says nothing."""

    label: str
    before: tuple[str, ...]
    after: tuple[str, ...]


def card_changes(
    before: tuple[CardLine, ...],
    *,
    after: tuple[CardLine, ...],
    values_before: CardValues,
    values_after: CardValues,
) -> tuple[CardChange, ...]:
    """Return what changed between two versions, in the order of the card."""
    said_before, said_after = (
        {line.group: (line.words,) for line in lines} for lines in (before, after)
    )
    changed = [
        CardChange(label=label, before=said_before.get(group, ()), after=said_after.get(group, ()))
        for group, label in LABELS.items()
        if said_before.get(group) != said_after.get(group)
    ]
    for group, label in LISTS.items():
        had, has = (list_words(values, group=group) for values in (values_before, values_after))
        if had != has:
            gone = tuple(words for words in had if words not in has)
            new = tuple(words for words in has if words not in had)
            # With the same lines in another order nothing is gone or new: both are shown whole.
            same = not gone and not new
            changed.append(
                CardChange(label=label, before=had if same else gone, after=has if same else new)
            )
    return tuple(changed)


def list_words(values: CardValues, *, group: str) -> tuple[str, ...]:
    """Return the steps, or what goes wrong, one line each."""
    if group == "steps":
        return tuple(f"{one.step} {one.reason}".strip() for one in values.steps)
    return tuple(
        " ".join(part for part in (f"{one.what}:", one.signs, one.do) if part)
        for one in values.troubles
    )


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
