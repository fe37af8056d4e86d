"""What can be compared: a factor, two of its levels, and for which batches."""

from dataclasses import dataclass, replace
from enum import StrEnum
from typing import Final

from app.domain.people import Actor
from app.domain.permissions import Permission, allowed
from app.domain.problems import NotAccepted
from app.domain.strike_rates_keys import NOT_RECORDED, RateKey, value_words
from app.domain.strike_rates_questions import RateFilter, RateQuestion


class Factor(StrEnum):
    """What two batches can differ in, as it stands in an address."""

    HORMONE = "hormone"
    METHOD = "method"
    CUTTING_TYPE = "cutting_type"
    MIX = "mix"
    CONTAINER = "container"
    COVER = "cover"
    BOTTOM_HEAT = "bottom_heat"
    PERSON = "person"
    BENCH = "bench"
    MONTH = "month"
    SEASON = "season"
    YEAR = "year"
    GENUS = "genus"
    PLANT = "plant"
    STOCK_PLANT = "stock_plant"

    @property
    def key(self) -> RateKey:
        """The name of strike rates that its levels are spelled by; months for a season."""
        return RateKey.MONTH if self is Factor.SEASON else RateKey(self.value)

    @property
    def label(self) -> str:
        """The factor as a page says it."""
        return self.value.replace("_", " ")


SEASONS: Final = (
    "January to March",
    "April to June",
    "July to September",
    "October to December",
)
MONTHS_A_SEASON: Final = 3


@dataclass(frozen=True, kw_only=True)
class ComparisonQuestion:
    """Two levels of a factor, spelled as files print them, among the batches of `asked`.

    `asked` names no `by`, and no filter by the factor itself.
    """

    factor: Factor
    one: str
    other: str
    asked: RateQuestion

    def level_filters(self, level: str) -> tuple[RateFilter, ...]:
        """Return the alternatives that make a batch one of this level.

        Raises:
            NotAccepted: there is no such season.
        """
        if self.factor is not Factor.SEASON:
            return (RateFilter(key=self.factor.key, value=level),)
        first = MONTHS_A_SEASON * _season_place(level) + 1
        months = range(first, first + MONTHS_A_SEASON)
        return tuple(RateFilter(key=RateKey.MONTH, value=str(month)) for month in months)

    @property
    def genus(self) -> str:
        """The one genus asked about, or nothing; it may then lean on all the others."""
        if self.factor in {Factor.GENUS, Factor.PLANT} or self.asked.values_of(RateKey.PLANT):
            return ""
        genera = self.asked.values_of(RateKey.GENUS)
        return genera[0] if len(genera) == 1 else ""

    @property
    def with_all_genera(self) -> "ComparisonQuestion":
        """The same question without the filter by genus."""
        where = tuple(each for each in self.asked.where if each.key is not RateKey.GENUS)
        return replace(self, asked=replace(self.asked, where=where))

    def level_words(self, level: str) -> str:
        """Return a level as a sentence says it, with the factor's name where it says nothing."""
        if level == NOT_RECORDED:
            return f"{self.factor.label} {NOT_RECORDED}"
        return level if self.factor is Factor.SEASON else value_words(level, key=self.factor.key)


def factors_for(actor: Actor) -> tuple[Factor, ...]:
    """Return what this person may compare; people only for those who may see everybody."""
    everybody = allowed(actor.role, Permission.SEE_EVERYBODY)
    return tuple(each for each in Factor if everybody or each is not Factor.PERSON)


def parse_factor(text: str, *, actor: Actor) -> Factor:
    """Return the factor of an address, a hormone where nothing is said.

    Raises:
        NotAccepted: there is none of that name, or it would show other people's figures to
            somebody who may not see them.
    """
    typed = text.strip() or Factor.HORMONE.value
    if typed == Factor.PERSON.value and Factor.PERSON not in factors_for(actor):
        sentence = "You can see figures by person for yourself only. Ask the head to compare."
        raise NotAccepted.at("by", sentence)
    if typed not in factors_for(actor):
        named = ", ".join(factors_for(actor))
        sentence = f'Nothing called "{text}" can be compared. Choose one of: {named}.'
        raise NotAccepted.at("by", sentence)
    return Factor(typed)


def accepted_comparison(
    factor: Factor, *, one: str, other: str, asked: RateQuestion
) -> ComparisonQuestion:
    """Return the question; `asked` is one that this person may ask.

    Raises:
        NotAccepted: both levels are the same, or the batches are already narrowed to some values
            of the factor.
    """
    if one.casefold() == other.casefold():
        raise NotAccepted.at("other", f"Choose another {factor.label} to compare {one} with.")
    if asked.values_of(factor.key):
        sentence = f"Leave out {factor.key.label} here: it is what is being compared."
        raise NotAccepted.at(factor.key.value, sentence)
    return ComparisonQuestion(factor=factor, one=one, other=other, asked=replace(asked, by=()))


def _season_place(level: str) -> int:
    folded = [season.casefold() for season in SEASONS]
    if level.casefold() not in folded:
        sentence = f'There is no season "{level}". Choose one of: {", ".join(SEASONS)}.'
        raise NotAccepted.at("one", sentence)
    return folded.index(level.casefold())
