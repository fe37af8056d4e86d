"""Lines of descent in words: how a member stands, and what its line says."""

from datetime import date
from typing import Final

from app.domain.line_rates import GenerationRate
from app.domain.lines import MemberKind
from app.domain.strike_rates import Basis
from app.domain.strike_rates_words import batches

_DAYS_OF_YEAR: Final = 365.25
_MONTHS_OF_YEAR: Final = 12
_FEWEST_TO_COMPARE: Final = 3

FALLS: Final = (
    "Generation {last} struck less than generation {first}, and their ranges do not touch. The "
    "months, methods and people may differ too: look at the batches before you blame the clone."
)


def age_words(since: date | None, *, today: date) -> str:
    """Return how long ago a day is, in days, months or years; "" where it is not known."""
    if since is None:
        return ""
    days = (today - since).days
    years = days / _DAYS_OF_YEAR
    if years >= 2:
        return f"{int(years)} years"
    months = int(years * _MONTHS_OF_YEAR)
    if months >= 2:
        return f"{months} months"
    return "1 day" if days == 1 else f"{days:,} days"


def generation_words(generation: int) -> str:
    """Return what a generation is called: the first plants are 0."""
    return "first plants" if generation == 0 else f"generation {generation}"


def members_words(kinds: list[MemberKind]) -> str:
    """Return how many batches and stock plants: "14 batches and 3 stock plants"."""
    number = kinds.count(MemberKind.STOCK_PLANT)
    plants = "1 stock plant" if number == 1 else f"{number:,} stock plants"
    parts = [
        words
        for words, kind in (
            (batches(kinds.count(MemberKind.BATCH)), MemberKind.BATCH),
            (plants, MemberKind.STOCK_PLANT),
        )
        if kind in kinds
    ]
    return " and ".join(parts) or "nothing"


def falling_words(rates: tuple[GenerationRate, ...]) -> str:
    """Return that a later generation strikes clearly less than an earlier one, "" if none does.

    Clearly means that the ranges do not touch; a generation of one or two batches is not judged.
    """
    judged = [
        rate
        for rate in rates
        if rate.square.facts.every.batches >= _FEWEST_TO_COMPARE
        and rate.square.basis is not Basis.BOUNDS
    ]
    for place, earlier in enumerate(judged):
        low = earlier.square.estimate_low_share
        for later in judged[place + 1 :]:
            high = later.square.estimate_high_share
            if low is not None and high is not None and high < low:
                return FALLS.format(first=earlier.generation, last=later.generation)
    return ""
