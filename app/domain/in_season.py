"""What to take in a month: method cards in season, the stock plants for them, who ordered it."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Final

from app.domain.card_months import YEAR, turned
from app.domain.cutting_types import CuttingType
from app.domain.days import MONTHS
from app.domain.nursery import Hemisphere
from app.domain.stock_plant_states import state_words
from app.domain.stock_plants import StateToday, StockPlantState
from app.domain.treatments import time_words

_CUT_FROM: Final = frozenset({StockPlantState.FIT, StockPlantState.WATCHED})


@dataclass(frozen=True, kw_only=True)
class CardInSeason:
    """A method card, with its months as northern ones; `species` is "" for the whole genus.

    `plant_name` is "" unless the card is for that one alone.
    """

    card_id: int
    genus: str
    species: str
    cutting_type: CuttingType
    months: frozenset[int]
    plant_name: str = ""

    @property
    def plant(self) -> str:
        """Genus, and species or the plant name where it is for one only."""
        return self.plant_name or f"{self.genus} {self.species}".strip()

    def covers(self, *, genus: str, species: str, plant: str) -> bool:
        """Return whether it speaks for a plant; a card of one species never does for another.

        `plant` is the plant name in full.
        """
        if self.plant_name:
            return plant == self.plant_name
        return genus == self.genus and self.species in {"", species}


@dataclass(frozen=True, kw_only=True)
class KeptStock:
    """A stock plant that is kept; `per_plant` are the cuttings expected of each, None unknown.

    `keep_out_until` is when people may go back in after a treatment, None where none is running.
    """

    code: str
    plant: str
    genus: str
    species: str
    plants: int
    standing: StateToday
    per_plant: float | None = None
    keep_out_until: datetime | None = None

    @property
    def may_be_cut(self) -> bool:
        """Whether cuttings may be taken now."""
        return self.standing.state in _CUT_FROM and self.keep_out_until is None


@dataclass(frozen=True, kw_only=True)
class WantedPlants:
    """An open order: `species` is "" and `whole_genus` set where any plant of the genus will do.

    `cutting_type` is None where any type will do. `stuck` counts to it already.
    """

    number: int
    plant: str
    genus: str
    species: str
    plants: int
    due_on: date
    stuck: int = 0
    whole_genus: bool = False
    cutting_type: CuttingType | None = None


@dataclass(frozen=True, kw_only=True)
class InSeason:
    """A card in season with what there is of it; `last_month` (1 to 12) is the season's last."""

    card: CardInSeason
    last_month: int
    months_left: int
    stock: tuple[KeptStock, ...]
    wanted: tuple[WantedPlants, ...]

    @property
    def until(self) -> str:
        """Such as "until March" or "all year"."""
        return "all year" if self.months_left >= YEAR else f"until {MONTHS[self.last_month - 1]}"

    @property
    def fit_plants(self) -> int:
        """How many stock plants may be cut now."""
        return sum(each.plants for each in self.stock if each.may_be_cut)

    @property
    def known_plants(self) -> int:
        """For how many of those it is known what each gives."""
        return sum(each.plants for each in self._known)

    @property
    def expected(self) -> int:
        """Cuttings expected of `known_plants` now."""
        return round(sum(each.plants * (each.per_plant or 0.0) for each in self._known))

    @property
    def _known(self) -> tuple[KeptStock, ...]:
        return tuple(each for each in self.stock if each.may_be_cut and each.per_plant is not None)

    @property
    def is_here(self) -> bool:
        """Whether it is wanted or kept here; other cards are only named."""
        return bool(self.stock or self.wanted)


def list_in_season(
    month: int,
    *,
    cards: Sequence[CardInSeason],
    stock: Sequence[KeptStock],
    orders: Sequence[WantedPlants],
    hemisphere: Hemisphere,
) -> tuple[InSeason, ...]:
    """Return the cards in season in a month (1 to 12) as this half of the globe counts them.

    What is wanted comes first, then what is kept, then what is soonest over.
    """
    found = [
        _in_season(card, month=month, stock=stock, orders=orders, hemisphere=hemisphere)
        for card in cards
        if month in turned(card.months, hemisphere=hemisphere)
    ]
    return tuple(
        sorted(
            found,
            key=lambda each: (
                not each.wanted,
                not each.stock,
                each.months_left,
                each.card.plant,
                each.card.cutting_type.value,
            ),
        )
    )


def standing_words(stock: KeptStock, *, today: date, zone: str) -> str:
    """Return how a stock plant stands, such as "resting until Mon 30 Nov: cut on ...".

    A keep-out time comes first; `zone` is the nursery's, as in IANA's list.
    """
    if stock.keep_out_until is not None:
        return f"keep out before {time_words(stock.keep_out_until, zone=zone)}"
    return state_words(stock.standing, today=today)


def _in_season(
    card: CardInSeason,
    *,
    month: int,
    stock: Sequence[KeptStock],
    orders: Sequence[WantedPlants],
    hemisphere: Hemisphere,
) -> InSeason:
    months = turned(card.months, hemisphere=hemisphere)
    left = 1
    while left < YEAR and (month - 1 + left) % YEAR + 1 in months:
        left += 1
    return InSeason(
        card=card,
        last_month=(month - 2 + left) % YEAR + 1,
        months_left=left,
        stock=tuple(
            each
            for each in stock
            if card.covers(genus=each.genus, species=each.species, plant=each.plant)
        ),
        wanted=tuple(
            each
            for each in orders
            if each.cutting_type in {None, card.cutting_type}
            and (
                (each.whole_genus and each.genus == card.genus)
                or card.covers(genus=each.genus, species=each.species, plant=each.plant)
            )
        ),
    )
