"""Rooted typed three ways, and counts of the unrooted that come out short or too high."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.domain.lost_causes import MISSING
from app.domain.outcomes import Loss, Standing
from app.domain.problems import NotAccepted
from app.domain.typed_counts import MissingAsked, RootedAs, RootedCount, rooted_count, with_missing

BEFORE = Standing(stuck=96, rooted=38, lost=11)


@pytest.mark.parametrize(
    ("typed", "typed_as"),
    [(20, RootedAs.NEW), (58, RootedAs.SO_FAR), (24, RootedAs.LEFT)],
)
def test_one_count_typed_three_ways(typed: int, typed_as: RootedAs) -> None:
    said = rooted_count(typed, typed_as=typed_as, before=BEFORE, lost=3)
    assert said == RootedCount(new=20, so_far=58, left=24)


@given(
    stuck=st.integers(1, 500),
    shares=st.tuples(*[st.floats(0, 1)] * 4),
    typed_as=st.sampled_from(RootedAs),
)
def test_the_three_ways_agree(
    stuck: int, shares: tuple[float, float, float, float], typed_as: RootedAs
) -> None:
    rooted = int(stuck * shares[0])
    lost_before = int((stuck - rooted) * shares[1])
    before = Standing(stuck=stuck, rooted=rooted, lost=lost_before)
    lost = int(before.unrooted * shares[2])
    new = int((before.unrooted - lost) * shares[3])
    said = rooted_count(new, typed_as=RootedAs.NEW, before=before, lost=lost)
    typed = {RootedAs.NEW: said.new, RootedAs.SO_FAR: said.so_far, RootedAs.LEFT: said.left}
    assert rooted_count(typed[typed_as], typed_as=typed_as, before=before, lost=lost) == said
    assert said.so_far + lost_before + lost + said.left == stuck


@pytest.mark.parametrize(
    ("typed", "typed_as", "lost", "says"),
    [
        (48, RootedAs.NEW, 0, "Rooted 38 and lost 11 leave 47 of 96 unrooted; with 48 newly"),
        (40, RootedAs.NEW, 8, "with 40 newly rooted and 8 newly lost it would be more"),
        (30, RootedAs.SO_FAR, 0, "38 were rooted already, so all so far cannot be 30"),
        (90, RootedAs.SO_FAR, 0, "with 52 newly rooted it would be more"),
        (48, RootedAs.LEFT, 0, "47 were unrooted before, so at most 47 can be left, not 48"),
        (45, RootedAs.LEFT, 3, "before and 3 newly lost, so at most 44 can be left"),
        (-1, RootedAs.NEW, 0, "from 0 upwards"),
        (-1, RootedAs.LEFT, 0, "from 0 upwards"),
    ],
)
def test_impossible_counts_say_the_numbers(
    typed: int, typed_as: RootedAs, lost: int, says: str
) -> None:
    with pytest.raises(NotAccepted) as refusal:
        rooted_count(typed, typed_as=typed_as, before=BEFORE, lost=lost)
    assert says in str(refusal.value)
    assert refusal.value.problems[0].field == "rooted"


def test_too_many_lost_is_said_at_lost() -> None:
    with pytest.raises(NotAccepted, match="you cannot add 48 lost") as refusal:
        rooted_count(0, typed_as=RootedAs.NEW, before=BEFORE, lost=48)
    assert refusal.value.problems[0].field == "lost"


COUNT = RootedCount(new=20, so_far=58, left=24)
ROT = (Loss(cause="basal rot", number=3),)


@pytest.mark.parametrize("counted_left", [None, 24])
def test_a_count_that_agrees_adds_nothing(counted_left: int | None) -> None:
    assert with_missing(ROT, counted_left=counted_left, count=COUNT, confirmed=None) == ROT


@pytest.mark.parametrize("confirmed", [None, 3, 5])
def test_a_short_count_is_asked_about_until_its_number_is_confirmed(confirmed: int | None) -> None:
    with pytest.raises(MissingAsked) as asked:
        with_missing(ROT, counted_left=20, count=COUNT, confirmed=confirmed)
    assert asked.value.missing == 4
    assert "24 should be left, but 20 were counted: 4 cuttings not accounted for" in str(
        asked.value
    )
    assert asked.value.problems[0].field == "unrooted_counted"


def test_once_confirmed_the_difference_is_missing() -> None:
    losses = with_missing(ROT, counted_left=20, count=COUNT, confirmed=4)
    assert losses == (*ROT, Loss(cause=MISSING, number=4))


def test_a_count_too_high_is_refused_even_when_confirmed() -> None:
    with pytest.raises(NotAccepted, match="At most 24 can be left, but 30 were counted") as refusal:
        with_missing(ROT, counted_left=30, count=COUNT, confirmed=6)
    assert not isinstance(refusal.value, MissingAsked)
