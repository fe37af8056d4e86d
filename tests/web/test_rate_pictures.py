"""The picture of an answer: every shape inside it, every number that of the table."""

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.domain.strike_rates_answers import RateGroup
from app.web.rate_pictures import RatePicture, lying_picture, strip_picture
from tests.domain.rate_batches import Counts, facts_of

COUNTS = st.builds(
    Counts,
    rooted=st.integers(0, 60),
    lost=st.integers(0, 60),
    unrooted=st.integers(0, 60),
    counted_at=st.integers(1, 200),
).filter(lambda counts: counts.stuck > 0)


def group(*batches: Counts) -> RateGroup:
    return RateGroup(values=("x",), facts=facts_of(batches))


def stays_inside(picture: RatePicture) -> bool:
    boxes = [mark.box for mark in picture.marks if mark.box]
    across = [box.x for box in boxes] + [box.x + box.width for box in boxes]
    down = [box.y for box in boxes] + [box.y + box.height for box in boxes]
    across += [words.x for words in picture.words]
    down += [words.y for words in picture.words]
    return (
        all(0 <= x <= picture.width for x in across)
        and all(0 <= y <= picture.height for y in down)
        and all(box.width > 0 and box.height > 0 for box in boxes)
    )


@given(st.lists(st.lists(COUNTS, min_size=1, max_size=4), min_size=1, max_size=4))
def test_every_shape_lies_inside(groups: list[list[Counts]]) -> None:
    drawn = [group(*batches) for batches in groups]
    labels = ["a long label that has to be cut somewhere in the middle"] * len(drawn)
    assert stays_inside(lying_picture(drawn, labels=labels))
    grid = [[each, None] for each in drawn]
    assert stays_inside(strip_picture(grid, rows=labels, columns=["Apr", "not recorded"]))


def test_a_rate_lies_at_its_share() -> None:
    picture = lying_picture([group(Counts(rooted=50, lost=50))], labels=["half"])
    (mark,) = picture.marks
    assert mark.point.startswith(f"M{picture.width / 2} ")
    assert mark.few
    assert [words.text for words in picture.words] == ["half", "50 %", "0 %", "50 %", "100 %"]


def test_in_a_strip_high_is_up() -> None:
    low, high = group(Counts(rooted=10, lost=90)), group(Counts(rooted=90, lost=10))
    picture = strip_picture([[low, high]], rows=["Hebe"], columns=["Apr", "May"])
    (first, second) = (float(re.split("[ h]", mark.point)[1]) for mark in picture.marks)
    assert first > second
    texts = [words.text for words in picture.words]
    assert texts == ["Apr", "May", "Hebe", "10", "90"]


@pytest.mark.parametrize("share", [0, 25])
def test_bounds_are_hatched_and_have_no_stroke(share: int) -> None:
    young = group(Counts(rooted=share, unrooted=75, counted_at=10))
    picture = lying_picture([young], labels=["young"])
    (mark,) = picture.marks
    assert mark.box
    assert mark.box.bounds
    assert mark.point == ""
    assert picture.words[1].text == ("0 to 100 %" if share == 0 else "25 to 100 %")
    strip = strip_picture([[young, None]], rows=["Hebe"], columns=["Apr", "May"])
    assert [words.text for words in strip.words][3:] == [
        picture.words[1].text[:-2].replace(" to ", "–"),
        "–",
    ]
    assert len(strip.marks) == 1
