"""The names rates are asked by, and the order of what stands under them."""

import pytest

from app.domain.problems import NotAccepted
from app.domain.strike_rates_keys import (
    NOT_RECORDED,
    RateKey,
    in_order,
    parse_rate_key,
    value_words,
)


def test_the_names_are_a_public_format() -> None:
    assert list(RateKey) == [
        "genus",
        "plant",
        "method",
        "cutting_type",
        "hormone",
        "mix",
        "month",
        "year",
        "person",
        "bench",
        "cover",
        "bottom_heat",
        "container",
        "stock_plant",
    ]


def test_screens_say_them_in_words() -> None:
    assert RateKey.CUTTING_TYPE.label == "cutting type"
    assert RateKey.PERSON.meaning == "who stuck the batch"
    assert all(key.meaning for key in RateKey)


@pytest.mark.parametrize("typed", ["bottom_heat", "bottom heat", "Bottom-Heat", " bottom  heat "])
def test_spaces_and_hyphens_are_taken(typed: str) -> None:
    assert parse_rate_key(typed) is RateKey.BOTTOM_HEAT


def test_an_unknown_name_lists_those_there_are() -> None:
    with pytest.raises(NotAccepted, match='no name "species"') as refused:
        parse_rate_key("species", field="where")
    assert "stock_plant" in str(refused.value)
    assert refused.value.problems[0].field == "where"


def test_months_and_temperatures_are_said_in_full() -> None:
    assert value_words("4", key=RateKey.MONTH) == "April"
    assert value_words("13", key=RateKey.MONTH) == "13"
    assert value_words("20", key=RateKey.BOTTOM_HEAT) == "20 °C"
    assert value_words(NOT_RECORDED, key=RateKey.BOTTOM_HEAT) == NOT_RECORDED
    assert value_words("4", key=RateKey.BENCH) == "4"


@pytest.mark.parametrize(
    ("key", "values", "ordered"),
    [
        (RateKey.MONTH, ["10", NOT_RECORDED, "2", "1"], ("1", "2", "10", NOT_RECORDED)),
        (RateKey.YEAR, ["2026", "2024"], ("2024", "2026")),
        (RateKey.BOTTOM_HEAT, ["20", "7.5"], ("7.5", "20")),
        (
            RateKey.STOCK_PLANT,
            ["S-10000", "S-0031", "bought in", NOT_RECORDED],
            ("S-0031", "S-10000", "bought in", NOT_RECORDED),
        ),
        (RateKey.GENUS, ["Hebe", "Abelia", "cistus"], ("Abelia", "cistus", "Hebe")),
    ],
)
def test_the_order_is_of_the_calendar_or_the_alphabet(
    key: RateKey, values: list[str], ordered: tuple[str, ...]
) -> None:
    assert in_order(values, key=key) == ordered
