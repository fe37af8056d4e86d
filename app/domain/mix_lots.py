"""Mix lots: one making-up of a mix, what went in, what was measured, what is left of it."""

import math
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import Final

from app.domain.days import EARLIEST, day_long
from app.domain.measures import parse_measure
from app.domain.mixes import MOST_LITRES
from app.domain.porosities import Porosity, container_porosity
from app.domain.problems import NotAccepted, Problem

LONGEST_TEXT: Final = 120
LONGEST_NOTES: Final = 4_000
HIGHEST_EC: Final = 20.0
HIGHEST_PH: Final = 14.0
EXTRACTIONS: Final = (
    "1 : 1.5 by volume", "1 : 2 by volume", "1 : 5 by volume", "saturated", "pour-through",
    "pressed out", "another way, see notes",
)  # fmt: skip
# What is usual for propagation (common practice, no source): outside of it a remark, no refusal.
USUAL: Final[dict[str, tuple[float, float, str]]] = {
    "medium_ec": (0.0, 1.5, "EC of the medium, mS/cm"),
    "medium_ph": (4.5, 7.0, "pH of the medium"),
    "water_ec": (0.0, 1.0, "EC of the water, mS/cm"),
    "water_ph": (5.0, 8.5, "pH of the water"),
}
_BAGS: Final = re.compile(
    r"(?P<bags>[0-9.,]+)\s*bags?\s*(?:of|x|×|at)\s*(?P<each>[0-9.,]+)\s*(?:l|litres?)?",
    re.IGNORECASE,
)


@dataclass(frozen=True, kw_only=True)
class LotIngredient:
    """What went in of one ingredient: litres, and bags of so many litres where it was bags."""

    ingredient: str
    supplier_lot: str = ""
    litres: float | None = None
    bags: float | None = None
    bag_l: float | None = None


@dataclass(frozen=True, kw_only=True)
class MixLotEntry:
    """A mix lot as it is entered.

    `asked_l` is how many litres were wanted, `litres` how many came out. EC is in mS/cm at 25 °C,
    that of the medium by its `extraction`. The porosity holds for `container` alone.
    """

    mix_version_id: int
    made_on: date
    made_by_id: int | None = None
    asked_l: float | None = None
    litres: float | None = None
    ingredients: tuple[LotIngredient, ...] = ()
    extraction: str = ""
    medium_ec: float | None = None
    medium_ph: float | None = None
    water_ec: float | None = None
    water_ph: float | None = None
    container: str = ""
    container_ml: float | None = None
    saturation_ml: float | None = None
    drained_ml: float | None = None
    notes: str = ""

    @property
    def put_in_l(self) -> float | None:
        """Litres that went in altogether, None unless that of each ingredient is known."""
        return put_in(self.ingredients)

    @property
    def shrinkage_share(self) -> float | None:
        """By how much it shrank on mixing, None where not measured; below 0 where it grew."""
        return shrinkage(put_in_l=self.put_in_l, made_l=self.litres)

    @property
    def porosity(self) -> Porosity | None:
        """Its porosity in its container, None where not measured."""
        if self.container_ml is None or self.saturation_ml is None or self.drained_ml is None:
            return None
        return container_porosity(
            container_ml=self.container_ml,
            saturation_ml=self.saturation_ml,
            drained_ml=self.drained_ml,
        )


def put_in(ingredients: Sequence[LotIngredient]) -> float | None:
    """Return the litres of all ingredients together, None unless each is known."""
    known = [one.litres for one in ingredients if one.litres is not None]
    return sum(known) if known and len(known) == len(ingredients) else None


def shrinkage(*, put_in_l: float | None, made_l: float | None) -> float | None:
    """Return 1 - made / put in, None where one of them is not known."""
    if not put_in_l or made_l is None:
        return None
    return 1 - made_l / put_in_l


def pooled_shrinkage(lots: Sequence[tuple[float, float]]) -> float | None:
    """Return the shrinkage of several lots as (put in, made) litres, never below 0.

    Large lots weigh more: all that was made against all that went in.
    """
    going_in = sum(put_in_l for put_in_l, _ in lots)
    if not going_in:
        return None
    return max(0.0, 1 - sum(made for _, made in lots) / going_in)


def litres_for(
    *, volume_ml: float | None, plugs: int | None, trays: int | None, stuck: int,
    per_place: int | None,
) -> float | None:  # fmt: skip
    """Return the litres that fill a batch's containers, None where their volume is not known.

    Trays are filled whole, also where gaps were left; without their number it is as many plugs or
    pots as the cuttings take.
    """
    if volume_ml is None:
        return None
    places = trays * plugs if trays and plugs else math.ceil(stuck / (per_place or 1))
    return places * volume_ml / 1000


def parse_amount(text: str, *, field: str) -> tuple[float | None, float | None, float | None]:
    """Return (litres, bags, litres a bag) of "300" or "6 bags of 50"; Nones for a blank.

    Raises:
        NotAccepted: it cannot be read, or is not above zero.
    """
    typed = _BAGS.fullmatch(text.strip())
    if typed is None:
        litres = parse_measure(text, field=field, low=0, high=MOST_LITRES, unit="l")
        if litres == 0:
            raise NotAccepted.at(field, "Give litres above 0, or leave it blank.")
        return litres, None, None
    bags = parse_measure(typed["bags"], field=field, low=0.01, high=100_000, unit="bags")
    each = parse_measure(typed["each"], field=field, low=0.1, high=10_000, unit="litres")
    if bags is None or each is None:
        raise NotAccepted.at(field, 'Give litres such as "300", or "6 bags of 50".')
    return bags * each, bags, each


def amount_words(one: LotIngredient) -> str:
    """Return an amount as it is typed, such as "6 bags of 50" or "300"; "" if not known."""
    if one.bags is not None and one.bag_l is not None:
        return f"{one.bags:.10g} bags of {one.bag_l:.10g}"
    return "" if one.litres is None else f"{one.litres:.10g}"


def accepted_mix_lot(entry: MixLotEntry, *, today: date) -> MixLotEntry:
    """Return the entry with its texts tidied.

    Raises:
        NotAccepted: a day to come, a number that cannot be, an EC without its extraction, or a
            porosity measured in part.
    """
    tidy = replace(
        entry,
        ingredients=tuple(
            replace(
                one,
                ingredient=" ".join(one.ingredient.split()),
                supplier_lot=" ".join(one.supplier_lot.split()),
            )
            for one in entry.ingredients
        ),
        container=" ".join(entry.container.split()),
        notes=entry.notes.strip(),
    )
    problems = (*_day(tidy, today=today), *_numbers(tidy), *_lines(tidy), *_porosity(tidy))
    if problems:
        raise NotAccepted(problems)
    return tidy


def lot_remarks(entry: MixLotEntry) -> Iterator[str]:
    """Yield what is unusual about a lot: common practice, no source; never a refusal."""
    share = entry.shrinkage_share
    if share is not None and share < 0:
        yield "More came out than went in: measure again, or look at the litres of each ingredient."
    elif share is not None and share > HIGH_SHRINKAGE:
        yield f"It shrank by {share:.0%}; 5 to 15 % is usual.".replace("%;", " %;")
    for field, (low, high, words) in USUAL.items():
        value = getattr(entry, field)
        if value is not None and not low <= value <= high:
            yield f"{words}: {value:g} is unusual; {low:g} to {high:g} is usual for propagation."


HIGH_SHRINKAGE: Final = 0.25


def _day(entry: MixLotEntry, *, today: date) -> Iterator[Problem]:
    if entry.made_on > today:
        sentence = f"{day_long(entry.made_on)} is still to come: give the day it was made up."
        yield Problem(field="made_on", sentence=sentence)
    elif entry.made_on < EARLIEST:
        yield Problem(field="made_on", sentence=f"Give a day from {EARLIEST.year} on.")


def _numbers(entry: MixLotEntry) -> Iterator[Problem]:
    for field in ("asked_l", "litres"):
        value = getattr(entry, field)
        if value is not None and not 0 < value <= MOST_LITRES:
            yield Problem(field=field, sentence="Give litres above 0, or leave it blank.")
    for field, high in (
        ("medium_ec", HIGHEST_EC), ("water_ec", HIGHEST_EC),
        ("medium_ph", HIGHEST_PH), ("water_ph", HIGHEST_PH),
    ):  # fmt: skip
        value = getattr(entry, field)
        if value is not None and not 0 <= value <= high:
            yield Problem(field=field, sentence=f"Give a number from 0 to {high:g}.")
    if entry.medium_ec is not None and not entry.extraction:
        sentence = "Say how it was extracted: an EC got one way does not compare with another."
        yield Problem(field="extraction", sentence=sentence)
    if entry.extraction and entry.extraction not in EXTRACTIONS:
        yield Problem(field="extraction", sentence="Choose one from the list.")


def _lines(entry: MixLotEntry) -> Iterator[Problem]:
    seen: set[tuple[str, str]] = set()
    for place, one in enumerate(entry.ingredients):
        key = (one.ingredient.casefold(), one.supplier_lot.casefold())
        if not one.ingredient:
            yield Problem(field=f"ingredients-{place}-ingredient", sentence="Name the ingredient.")
        elif key in seen:
            sentence = f"{one.ingredient} of this lot is named twice: put it on one line."
            yield Problem(field=f"ingredients-{place}-ingredient", sentence=sentence)
        seen.add(key)
        for field in ("ingredient", "supplier_lot"):
            if len(getattr(one, field)) > LONGEST_TEXT:
                sentence = f"Shorten this to at most {LONGEST_TEXT} characters."
                yield Problem(field=f"ingredients-{place}-{field}", sentence=sentence)
    if len(entry.container) > LONGEST_TEXT:
        sentence = f"Shorten this to at most {LONGEST_TEXT} characters."
        yield Problem(field="container", sentence=sentence)
    if len(entry.notes) > LONGEST_NOTES:
        sentence = f"Shorten the notes to at most {LONGEST_NOTES:,} characters."
        yield Problem(field="notes", sentence=sentence)


def _porosity(entry: MixLotEntry) -> Iterator[Problem]:
    fields = ("container_ml", "saturation_ml", "drained_ml")
    missing = [field for field in fields if getattr(entry, field) is None]
    if 0 < len(missing) < len(fields):
        for field in missing:
            yield Problem(field=field, sentence="Porosity needs all three volumes, or none.")
    elif not missing:
        try:
            _ = entry.porosity
        except NotAccepted as refused:
            yield from refused.problems
