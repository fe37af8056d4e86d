"""A season worked out from wishes: numbers, room and names of what stops an order."""

from dataclasses import replace
from datetime import date, timedelta

from app.domain.order_plans import PlanAsked, plan_order
from app.domain.season_answers import SeasonRoom, SeasonWish, WishStock, plan_wishes
from tests.domain.test_order_plans import basis

TODAY = date(2026, 11, 25)
ASKED = PlanAsked(plants=500, due_on=date(2027, 8, 2), sure_share=0.9, batches=3)
WISH = SeasonWish(name="order 1", plant="Hebe", asked=ASKED, basis=basis(), window_weeks=3)


def numbers(wish: SeasonWish, room: SeasonRoom | None = None) -> tuple[int, int]:
    """Return the cuttings planned and the cuttings short."""
    lines = plan_wishes([wish], room=room or SeasonRoom(), today=TODAY).lines
    return sum(line.cuttings for line in lines), sum(line.short or 0 for line in lines)


def test_the_number_is_that_of_the_batches_found() -> None:
    answer = plan_wishes([WISH], room=SeasonRoom(), today=TODAY)
    one = plan_order(replace(ASKED, batches=1), basis=basis(), today=TODAY)
    assert [line.cuttings for line in answer.lines] == [one.stick]
    week_on = answer.lines[0].week_on
    assert week_on is not None
    assert week_on <= one.latest_on < week_on + timedelta(days=7)
    assert answer.lines[0].week == f"2027-W{one.latest_on.isocalendar().week:02}"


def test_cuttings_already_stuck_count() -> None:
    whole, _ = numbers(WISH)
    assert numbers(replace(WISH, stuck=200)) == (whole - 200, 0)
    assert numbers(replace(WISH, stuck=5000)) == (0, 0)


def test_stock_plants_that_rest_join_once_rested() -> None:
    stock = WishStock(name="Hebe", fit=10, kept=50, per_plant=10, rest_weeks=4)
    # The orders' weeks lie beyond the rest: all fifty are cut, once in their three weeks.
    planned, short = numbers(replace(WISH, stock=stock))
    assert planned == 500
    answer = plan_wishes([replace(WISH, stock=stock)], room=SeasonRoom(), today=TODAY)
    assert answer.lines[-1].limit == "stock plants: 10 fit to cut of 50"
    assert answer.lines[-1].short == short > 0


def test_a_small_bench_and_little_labour_stop_it() -> None:
    planned, short = numbers(WISH, SeasonRoom(trays=3, per_tray=84))
    assert (planned, short > 0) == (252, True)
    planned, _ = numbers(WISH, SeasonRoom(labour=100))
    assert planned == 300


def test_what_cannot_be_planned_says_why() -> None:
    soon = replace(WISH, asked=replace(ASKED, due_on=TODAY + timedelta(days=5)))
    line = plan_wishes([soon], room=SeasonRoom(), today=TODAY).lines[0]
    assert (line.week, line.cuttings, line.short, line.limit) == ("", 0, None, "too late")
