"""Where the shapes of the small pictures stand."""

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.web.pictures import BAR_WIDTH, RATE_WIDTH, outcome_pieces, rate_places

counts = st.integers(0, 5000)


@given(rooted=counts, unrooted=counts, lost=counts, dumped=counts, cleared=counts)
def test_pieces_fill_the_bar_in_proportion(
    rooted: int, unrooted: int, lost: int, dumped: int, cleared: int
) -> None:
    stuck = rooted + unrooted + lost + dumped + cleared
    bar = outcome_pieces(
        rooted=rooted, unrooted=unrooted, lost=lost, stuck=stuck, dumped=dumped, cleared=cleared
    )
    total = sum(piece.width for piece in bar.pieces)
    assert total == pytest.approx(BAR_WIDTH - 1.5 if stuck else 0, abs=0.1)
    for left, right in pairwise(bar.pieces):
        assert right.x == pytest.approx(left.x + left.width, abs=0.02)


def test_a_bar_says_its_numbers_and_leaves_out_what_is_not_there() -> None:
    bar = outcome_pieces(rooted=38, unrooted=47, lost=11, stuck=96)
    assert bar.words == "38 rooted, 47 unrooted, 11 lost"
    assert [piece.kind for piece in bar.pieces] == ["rooted", "unrooted", "lost"]
    assert [piece.fill for piece in bar.pieces] == ["", "hatch", "dots"]


def test_an_empty_bar_says_so() -> None:
    assert outcome_pieces(rooted=0, unrooted=0, lost=0, stuck=0).words == "no cuttings"


def test_rate_stands_inside_its_interval() -> None:
    mark = rate_places(share=0.64, low=0.56, high=0.72)
    assert mark.low <= mark.rate <= mark.low + mark.span
    assert mark.words == "64 %, 56 to 72 %"
    assert 0 < mark.low < RATE_WIDTH


def test_no_data_is_said_and_nothing_is_drawn() -> None:
    mark = rate_places(share=None, low=None, high=None)
    assert (mark.has_rate, mark.has_interval, mark.words) == (False, False, "no data")


def test_bounds_without_a_rate_are_drawn_as_an_interval() -> None:
    mark = rate_places(share=None, low=0.4, high=0.89)
    assert (mark.has_rate, mark.has_interval) == (False, True)
    assert mark.words == "40 to 89 %"
