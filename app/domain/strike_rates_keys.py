"""The names that strike rates can be asked by, and the values batches have under each."""

from collections.abc import Iterable
from enum import StrEnum
from math import inf
from typing import Final

from app.domain.days import MONTHS
from app.domain.problems import NotAccepted

NOT_RECORDED: Final = "not recorded"


class RateKey(StrEnum):
    """A name that batches can be grouped and filtered by, as typed in commands and files."""

    GENUS = "genus"
    PLANT = "plant"
    METHOD = "method"
    CUTTING_TYPE = "cutting_type"
    HORMONE = "hormone"
    MIX = "mix"
    MONTH = "month"
    YEAR = "year"
    PERSON = "person"
    BENCH = "bench"
    COVER = "cover"
    BOTTOM_HEAT = "bottom_heat"
    CONTAINER = "container"
    STOCK_PLANT = "stock_plant"

    @property
    def label(self) -> str:
        """The name as a page says it."""
        return self.value.replace("_", " ")

    @property
    def meaning(self) -> str:
        """What the name stands for, in a few words."""
        return _MEANINGS[self]


_MEANINGS: Final = {
    RateKey.GENUS: "genus of the plant name",
    RateKey.PLANT: "the whole plant name",
    RateKey.METHOD: "cutting type with hormone substance, form and ppm",
    RateKey.CUTTING_TYPE: "softwood, semi-ripe and so on",
    RateKey.HORMONE: "substance, form and ppm",
    RateKey.MIX: "recipe the batch was stuck in",
    RateKey.MONTH: "calendar month over all years",
    RateKey.YEAR: "calendar year",
    RateKey.PERSON: "who stuck the batch",
    RateKey.BENCH: "where the batch was stuck",
    RateKey.COVER: "what it stood under",
    RateKey.BOTTOM_HEAT: "temperature set for the bottom heat",
    RateKey.CONTAINER: "tray or pot",
    RateKey.STOCK_PLANT: "each source of a batch; a batch taken from two counts in both",
}
_BY_NUMBER: Final = frozenset(
    {RateKey.MONTH, RateKey.YEAR, RateKey.BOTTOM_HEAT, RateKey.STOCK_PLANT}
)


def parse_rate_key(text: str, *, field: str = "by") -> RateKey:
    """Return the name typed, spaces and hyphens standing for the underscore.

    Raises:
        NotAccepted: there is no such name; the sentence lists them all.
    """
    typed = "_".join(text.lower().replace("-", " ").replace("_", " ").split())
    try:
        return RateKey(typed)
    except ValueError:
        names = ", ".join(RateKey)
        sentence = f'There is no name "{text}" to ask by. Choose one of: {names}.'
        raise NotAccepted.at(field, sentence) from None


def value_words(value: str, *, key: RateKey) -> str:
    """Return a value as a page says it: months by name, temperatures with their unit."""
    if value == NOT_RECORDED:
        return value
    if key is RateKey.MONTH:
        return MONTHS[int(value) - 1] if value.isdecimal() and 1 <= int(value) <= 12 else value
    return f"{value} °C" if key is RateKey.BOTTOM_HEAT else value


def in_order(values: Iterable[str], *, key: RateKey) -> tuple[str, ...]:
    """Return the values in the order a person looks for them, those not recorded last.

    Months, years and temperatures go by number, codes by their number, all else by alphabet;
    never by rate, since a league table of small numbers mostly ranks luck.
    """
    return tuple(sorted(values, key=lambda value: _place(value, key=key)))


def _place(value: str, *, key: RateKey) -> tuple[bool, float, str]:
    number = 0.0
    if key in _BY_NUMBER and value != NOT_RECORDED:
        digits = value.rpartition("-")[2] if key is RateKey.STOCK_PLANT else value
        number = float(digits) if digits.replace(".", "", 1).isdecimal() else inf
    return value == NOT_RECORDED, number, value.casefold()
