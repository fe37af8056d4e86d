"""What is in season: by the cards' months, in either half of the globe, wanted first."""

from datetime import UTC, date, datetime
from typing import Any

from hypothesis import given
from hypothesis import strategies as st

from app.domain.cutting_types import CuttingType
from app.domain.in_season import (
    CardInSeason,
    InSeason,
    KeptStock,
    WantedPlants,
    list_in_season,
    standing_words,
)
from app.domain.nursery import Hemisphere
from app.domain.stock_plants import StateToday, StockPlantState

TODAY = date(2026, 11, 25)
FIT = StateToday(state=StockPlantState.FIT)


def card(genus: str = "Hebe", **more: Any) -> CardInSeason:
    usual: dict[str, Any] = {
        "card_id": 1, "species": "", "cutting_type": CuttingType.SEMI_RIPE,
        "months": frozenset({8, 9, 10}),
    }  # fmt: skip
    return CardInSeason(genus=genus, **(usual | more))


def stock(genus: str = "Hebe", **more: Any) -> KeptStock:
    usual: dict[str, Any] = {
        "code": "S-0001", "plant": f"{genus} 'Any'", "species": "", "plants": 10, "standing": FIT,
    }  # fmt: skip
    return KeptStock(genus=genus, **(usual | more))


def wanted(genus: str = "Hebe", **more: Any) -> WantedPlants:
    usual: dict[str, Any] = {
        "number": 1, "plant": f"{genus} 'Any'", "species": "", "plants": 100, "due_on": TODAY,
    }  # fmt: skip
    return WantedPlants(genus=genus, **(usual | more))


def found(month: int, *cards: CardInSeason, **more: Any) -> tuple[InSeason, ...]:
    usual: dict[str, Any] = {"stock": (), "orders": (), "hemisphere": Hemisphere.NORTH}
    return list_in_season(month, cards=cards, **(usual | more))


def test_the_months_are_the_cards() -> None:
    assert [bool(found(month, card())) for month in range(6, 13)] == [
        False, False, True, True, True, False, False,
    ]  # fmt: skip
    assert found(8, card())[0].until == "until October"
    assert found(10, card())[0].months_left == 1


def test_a_season_runs_over_the_years_end() -> None:
    winter = card(months=frozenset({11, 12, 1, 2}))
    assert [found(month, winter)[0].until for month in (11, 1)] == ["until February"] * 2
    assert found(12, winter)[0].months_left == 3
    assert found(4, card(months=frozenset(range(1, 13))))[0].until == "all year"


def test_the_southern_half_turns_them() -> None:
    # August to October of the north is February to April of the south.
    south = {"hemisphere": Hemisphere.SOUTH}
    assert found(8, card(), **south) == ()
    assert found(3, card(), **south)[0].until == "until April"


def test_what_is_wanted_comes_first_then_what_is_kept_then_what_is_soonest_over() -> None:
    cards = [
        card("Abelia", card_id=1),
        card("Buddleja", card_id=2, months=frozenset({8})),
        card("Cistus", card_id=3),
        card("Daphne", card_id=4),
    ]
    order = found(8, *cards, stock=(stock("Cistus"),), orders=(wanted("Daphne"),))
    assert [each.card.genus for each in order] == ["Daphne", "Cistus", "Buddleja", "Abelia"]
    assert [each.is_here for each in order] == [True, True, False, False]


def test_a_card_of_one_species_speaks_for_no_other() -> None:
    one = card(species="speciosa")
    seen = found(
        8, one,
        stock=(stock(species="speciosa"), stock(code="S-0002", species="albicans"), stock()),
        orders=(wanted(species="albicans"), wanted(number=2, whole_genus=True)),
    )[0]  # fmt: skip
    assert [each.code for each in seen.stock] == ["S-0001"]
    assert [each.number for each in seen.wanted] == [2]


def test_an_order_of_one_type_is_wanted_under_that_type_alone() -> None:
    both = (card(), card(card_id=2, cutting_type=CuttingType.SOFTWOOD))
    orders = (wanted(cutting_type=CuttingType.SOFTWOOD), wanted(number=2))
    seen = {
        each.card.card_id: [one.number for one in each.wanted]
        for each in found(8, *both, orders=orders)
    }
    assert seen == {1: [2], 2: [1, 2]}


def test_only_what_may_be_cut_is_counted() -> None:
    resting = StateToday(
        state=StockPlantState.RESTING, reason="cut on Mon 2 Nov, 4 weeks of rest",
        until=date(2026, 11, 29),
    )  # fmt: skip
    kept = (
        stock(per_plant=6.5),
        stock(code="S-0002", plants=4, standing=StateToday(state=StockPlantState.WATCHED)),
        stock(code="S-0003", plants=50, standing=resting, per_plant=6.0),
    )
    seen = found(8, card(), stock=kept)[0]
    assert (seen.fit_plants, seen.known_plants, seen.expected) == (14, 10, 65)
    assert standing_words(kept[2], today=TODAY, zone="UTC") == (
        "resting until Sun 29 Nov: cut on Mon 2 Nov, 4 weeks of rest"
    )
    assert standing_words(kept[0], today=TODAY, zone="UTC") == "fit to cut"
    assert found(8, card(), stock=(stock(),))[0].known_plants == 0


def test_nobody_is_sent_in_while_a_keep_out_time_runs() -> None:
    until = datetime(2026, 11, 25, 16, 0, tzinfo=UTC)
    treated = stock(per_plant=6.0, keep_out_until=until)
    seen = found(8, card(), stock=(treated,))[0]
    assert (seen.fit_plants, seen.expected) == (0, 0)
    assert standing_words(treated, today=TODAY, zone="Europe/Berlin") == (
        "keep out before 17:00 on Wed 25 November 2026"
    )


@given(st.frozensets(st.integers(1, 12), min_size=1), st.integers(1, 12))
def test_every_month_up_to_the_last_is_in_season(months: frozenset[int], month: int) -> None:
    seen = found(month, card(months=months))
    assert bool(seen) == (month in months)
    if seen and len(months) < 12:
        ahead = [(month - 1 + step) % 12 + 1 for step in range(seen[0].months_left + 1)]
        assert set(ahead[:-1]) <= months
        assert ahead[-1] not in months
        assert ahead[-2] == seen[0].last_month
