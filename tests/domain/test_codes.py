"""Codes given by the program, as written and as typed."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.domain.codes import (
    BatchCode,
    batch_code,
    mix_lot_code,
    parse_batch_code,
    parse_mix_lot_code,
    parse_stock_plant_code,
    stock_plant_code,
)

THE_147TH_OF_2026 = BatchCode(year=2026, number=147)


@pytest.mark.parametrize(
    "typed",
    [
        "26-0147",
        " 26-147 ",
        "26–0147",
        "26/0147",
        "26 147",
        "26 - 0147",
        "260147",
        "26147",
        "#26-0147",
    ],
)
def test_a_batch_code_is_read_forgivingly(typed: str) -> None:
    assert parse_batch_code(typed) == THE_147TH_OF_2026


@pytest.mark.parametrize(
    "typed", ["", "147", "2614", "26-", "26-0000", "x26-0147", "26-01a7", "S-0031"]
)
def test_what_is_no_batch_code_is_not_guessed_at(typed: str) -> None:
    assert parse_batch_code(typed) is None


def test_a_code_has_at_least_four_digits_and_more_where_needed() -> None:
    assert str(THE_147TH_OF_2026) == "26-0147"
    assert batch_code(year=2026, number=12345) == "26-12345"
    assert batch_code(year=2005, number=1) == "05-0001"


def test_codes_sort_as_numbers() -> None:
    codes = [
        BatchCode(year=2026, number=10_000),
        BatchCode(year=2026, number=9_999),
        BatchCode(year=2025, number=20_000),
    ]
    assert [str(code) for code in sorted(codes)] == ["25-20000", "26-9999", "26-10000"]


@given(st.integers(2000, 2099), st.integers(1, 999_999_999))
def test_every_batch_code_is_read_back(year: int, number: int) -> None:
    code = BatchCode(year=year, number=number)
    assert parse_batch_code(str(code)) == code


@given(st.integers(2000, 2099), st.integers(1, 9_999_999))
def test_swapped_neighbours_never_read_as_the_same_batch(year: int, number: int) -> None:
    written = batch_code(year=year, number=number)
    for place in range(len(written) - 1):
        left, right = written[place], written[place + 1]
        if left == right or "-" in (left, right):
            continue
        swapped = written[:place] + right + left + written[place + 2 :]
        assert parse_batch_code(swapped) != BatchCode(year=year, number=number)


@given(st.integers(1, 999_999_999))
def test_lettered_codes_are_read_back(number: int) -> None:
    assert parse_stock_plant_code(stock_plant_code(number)) == number
    assert parse_mix_lot_code(mix_lot_code(number)) == number


@pytest.mark.parametrize("typed", ["S-0031", "s31", "S 31", "s-31", " S0031 "])
def test_a_stock_plant_code_is_read_forgivingly(typed: str) -> None:
    assert parse_stock_plant_code(typed) == 31


def test_letters_are_not_mixed_up() -> None:
    assert parse_stock_plant_code("M-0001") is None
    assert parse_mix_lot_code("S-0001") is None
    assert parse_stock_plant_code("S-0000") is None
    assert stock_plant_code(31) == "S-0031"
    assert mix_lot_code(1) == "M-0001"
