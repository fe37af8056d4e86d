"""The counts of a batch add up, in whatever order its checks and corrections come in."""

from dataclasses import replace
from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.domain.outcomes import (
    BatchState,
    CheckCounts,
    CheckKind,
    DoesNotAddUp,
    Ending,
    Loss,
    Standing,
    in_order,
    lost_by_cause,
    standing_before,
    tally,
    tally_with,
)
from app.domain.problems import NotAccepted

STUCK_ON = date(2026, 10, 14)
TODAY = date(2026, 11, 25)


def count(
    day: int, *, rooted: int = 0, lost: int = 0, running: int = 1, **more: object
) -> CheckCounts:
    losses = (Loss(cause="basal rot", number=lost),) if lost else ()
    return CheckCounts(
        checked_on=STUCK_ON + timedelta(days=day),
        running=running,
        rooted=rooted,
        lost=losses,
        **more,  # type: ignore[arg-type]
    )


def look(day: int, *, running: int = 1) -> CheckCounts:
    return CheckCounts(
        checked_on=STUCK_ON + timedelta(days=day), running=running, kind=CheckKind.LOOKED_ONLY
    )


def sample(day: int, *, looked: int | None, rooted: int, **more: object) -> CheckCounts:
    return CheckCounts(
        checked_on=STUCK_ON + timedelta(days=day),
        kind=CheckKind.SAMPLE,
        looked=looked,
        rooted=rooted,
        **more,  # type: ignore[arg-type]
    )


def test_a_batch_nobody_looked_at_is_all_unrooted() -> None:
    standing = tally((), stuck=96, stuck_on=STUCK_ON)
    assert standing == Standing(stuck=96)
    assert (standing.unrooted, standing.state) == (96, BatchState.UNROOTED)
    assert standing.last_looked_on is None


def test_counts_add_up_over_checks() -> None:
    checks = (count(35, rooted=26, lost=3), count(17, rooted=12, lost=8), look(24))
    standing = tally(checks, stuck=96, stuck_on=STUCK_ON)
    assert (standing.rooted, standing.lost, standing.unrooted) == (38, 11, 47)
    assert standing.state is BatchState.PART_ROOTED
    assert standing.counted_on == standing.last_looked_on == STUCK_ON + timedelta(days=35)


def test_a_look_resets_the_look_and_not_the_count() -> None:
    standing = tally((count(17, rooted=1), look(24)), stuck=96, stuck_on=STUCK_ON)
    assert standing.last_looked_on == STUCK_ON + timedelta(days=24)
    assert standing.counted_on == STUCK_ON + timedelta(days=17)


def test_a_sample_is_never_part_of_the_totals() -> None:
    standing = tally((sample(17, looked=20, rooted=9),), stuck=96, stuck_on=STUCK_ON)
    assert (standing.rooted, standing.unrooted, standing.counted_on) == (0, 96, None)
    assert standing.last_looked_on == STUCK_ON + timedelta(days=17)


@pytest.mark.parametrize(
    ("checks", "ended_on", "dumped", "cleared_unrooted"),
    [
        ((count(30, rooted=90, lost=6),), 30, 0, 0),
        ((count(30, lost=96),), 30, 0, 0),
        ((count(30, rooted=40), count(60, rooted=1, lost=2, ending=Ending.DUMPED)), 60, 53, 0),
        ((count(30, rooted=40), count(60, ending=Ending.CLEARED_UNROOTED)), 60, 0, 56),
        ((count(30, rooted=96, ending=Ending.DUMPED),), 30, 0, 0),
    ],
)
def test_a_batch_is_cleared_when_nothing_is_left(
    checks: tuple[CheckCounts, ...], ended_on: int, dumped: int, cleared_unrooted: int
) -> None:
    standing = tally(checks, stuck=96, stuck_on=STUCK_ON)
    assert standing.state is BatchState.CLEARED
    assert standing.ended_on == STUCK_ON + timedelta(days=ended_on)
    assert (standing.dumped, standing.cleared_unrooted) == (dumped, cleared_unrooted)
    assert standing.unrooted == 0


def test_too_many_rooted_are_refused_in_numbers() -> None:
    earlier = count(35, rooted=38, lost=11)
    with pytest.raises(DoesNotAddUp) as refusal:
        tally((earlier, count(41, rooted=47, lost=1)), stuck=96, stuck_on=STUCK_ON)
    assert str(refusal.value).startswith(
        "Rooted 38 and lost 11 leave 47 of 96 unrooted; you cannot add 47 rooted and 1 lost."
    )
    assert refusal.value.problems[0].field == "rooted"


def test_exactly_all_is_accepted() -> None:
    checks = (count(35, rooted=38, lost=11), count(41, rooted=46, lost=1))
    assert tally(checks, stuck=96, stuck_on=STUCK_ON).unrooted == 0


@pytest.mark.parametrize("later", [look(61), count(61), count(60, running=2, lost=1)])
def test_nothing_follows_an_ending(later: CheckCounts) -> None:
    ended = count(60, rooted=40, ending=Ending.DUMPED)
    with pytest.raises(DoesNotAddUp, match="nothing to check after that"):
        tally((later, ended), stuck=96, stuck_on=STUCK_ON)


def test_a_look_after_the_last_one_rooted_is_harmless() -> None:
    standing = tally((count(30, rooted=96), look(37)), stuck=96, stuck_on=STUCK_ON)
    assert standing.ended_on == STUCK_ON + timedelta(days=30)


@pytest.mark.parametrize(
    ("check", "field"),
    [
        (count(-1, rooted=1), "checked_on"),
        (count(5, rooted=-1), "rooted"),
        (count(5, lost=-1), "rooted"),
        (sample(5, looked=None, rooted=1), "looked"),
        (sample(5, looked=0, rooted=0), "looked"),
        (sample(5, looked=97, rooted=1), "looked"),
        (sample(5, looked=9, rooted=10), "rooted"),
        (sample(5, looked=9, rooted=1, ending=Ending.DUMPED), "ending"),
        (sample(5, looked=9, rooted=1, lost=(Loss(cause="slugs", number=1),)), "lost"),
        (count(5, looked=9), "looked"),
        (replace(look(5), rooted=1), "rooted"),
        (replace(look(5), callused=1), "callused"),
        (replace(look(5), ending=Ending.DUMPED), "ending"),
        (replace(look(5), lost=(Loss(cause="slugs", number=1),)), "lost"),
    ],
)
def test_a_check_that_contradicts_itself_is_refused_at_its_field(
    check: CheckCounts, field: str
) -> None:
    with pytest.raises(DoesNotAddUp) as refusal:
        tally((check,), stuck=96, stuck_on=STUCK_ON)
    assert refusal.value.problems[0].field == field


def test_a_check_is_not_in_the_future() -> None:
    with pytest.raises(NotAccepted, match="has not come yet") as refusal:
        tally_with(count(43), others=(), stuck=96, stuck_on=STUCK_ON, today=TODAY)
    assert refusal.value.problems[0].field == "checked_on"
    tally_with(count(42), others=(), stuck=96, stuck_on=STUCK_ON, today=TODAY)


def test_a_later_check_that_would_no_longer_add_up_is_named() -> None:
    later = count(35, rooted=80)
    with pytest.raises(NotAccepted) as refusal:
        tally_with(count(17, rooted=20), others=(later,), stuck=96, stuck_on=STUCK_ON, today=TODAY)
    assert refusal.value.problems[0].field == "rooted"
    assert "the check of Wed 18 November 2026 would no longer add up" in str(refusal.value)
    assert "Rooted 20 and lost 0 leave 76 of 96 unrooted; you cannot add 80" in str(refusal.value)


def test_an_ending_cannot_come_before_a_later_check() -> None:
    with pytest.raises(NotAccepted, match="There is a check of Wed 18 November 2026") as refusal:
        tally_with(
            count(17, ending=Ending.DUMPED),
            others=(look(35),),
            stuck=96,
            stuck_on=STUCK_ON,
            today=TODAY,
        )
    assert refusal.value.problems[0].field == "ending"


def test_no_more_are_callused_than_are_left() -> None:
    earlier = count(17, rooted=50)
    tally_with(count(20, callused=46), others=(earlier,), stuck=96, stuck_on=STUCK_ON, today=TODAY)
    with pytest.raises(NotAccepted, match="After this check 36 are unrooted") as refusal:
        tally_with(
            count(20, rooted=10, callused=37),
            others=(earlier,),
            stuck=96,
            stuck_on=STUCK_ON,
            today=TODAY,
        )
    assert refusal.value.problems[0].field == "callused"


def test_losses_are_added_up_by_cause() -> None:
    checks = (
        count(5, lost=3),
        CheckCounts(
            checked_on=STUCK_ON,
            lost=(Loss(cause="slugs", number=7), Loss(cause="basal rot", number=2)),
        ),
        replace(count(9, lost=50), withdrawn=True),
    )
    assert lost_by_cause(checks) == (
        Loss(cause="slugs", number=7),
        Loss(cause="basal rot", number=5),
    )


@st.composite
def stories(draw: st.DrawFn) -> tuple[int, tuple[CheckCounts, ...]]:
    """A number stuck and checks that fit it, some withdrawn, some on the same day."""
    stuck = draw(st.integers(1, 400))
    left = stuck
    checks = []
    day = 0
    for running in range(1, draw(st.integers(0, 7)) + 1):
        day += draw(st.integers(0, 12))
        if draw(st.booleans()):
            rooted = draw(st.integers(0, left))
            lost = draw(st.integers(0, left - rooted))
            withdrawn = draw(st.booleans())
            left -= 0 if withdrawn else rooted + lost
            checks.append(
                count(day, rooted=rooted, lost=lost, running=running, withdrawn=withdrawn)
            )
        else:
            checks.append(look(day, running=running))
    return stuck, tuple(checks)


@given(story=stories(), data=st.data())
def test_sums_hold_in_any_order(
    story: tuple[int, tuple[CheckCounts, ...]], data: st.DataObject
) -> None:
    stuck, checks = story
    shuffled = data.draw(st.permutations(checks))
    standing = tally(shuffled, stuck=stuck, stuck_on=STUCK_ON)
    assert standing == tally(checks, stuck=stuck, stuck_on=STUCK_ON)
    live = [check for check in checks if not check.withdrawn]
    assert standing.rooted == sum(check.rooted for check in live)
    assert standing.lost == sum(check.lost_in_all for check in live)
    assert 0 <= standing.rooted + standing.lost <= stuck
    assert standing.rooted + standing.lost + standing.unrooted == stuck


@given(
    story=stories(), rooted=st.integers(0, 500), lost=st.integers(0, 500), day=st.integers(0, 42)
)
def test_an_entry_is_refused_or_holds_at_every_check(
    story: tuple[int, tuple[CheckCounts, ...]], rooted: int, lost: int, day: int
) -> None:
    stuck, checks = story
    entered = count(day, rooted=rooted, lost=lost, running=9)
    today = STUCK_ON + timedelta(days=100)
    try:
        tally_with(entered, others=checks, stuck=stuck, stuck_on=STUCK_ON, today=today)
    except NotAccepted:
        moved = sum(c.rooted + c.lost_in_all for c in in_order(checks)) + rooted + lost
        assert moved > stuck
        return
    accepted = in_order((*checks, entered))
    for place in range(len(accepted) + 1):
        so_far = accepted[:place]
        assert 0 <= sum(c.rooted + c.lost_in_all for c in so_far) <= stuck


@given(story=stories(), rooted=st.integers(0, 50), day=st.integers(0, 42))
def test_withdrawing_undoes_recording(
    story: tuple[int, tuple[CheckCounts, ...]], rooted: int, day: int
) -> None:
    stuck, checks = story
    before = tally(checks, stuck=stuck, stuck_on=STUCK_ON)
    withdrawn = count(day, rooted=rooted, running=9, withdrawn=True)
    assert tally((*checks, withdrawn), stuck=stuck, stuck_on=STUCK_ON) == before


@given(story=stories())
def test_standing_before_each_check_leads_to_the_next(
    story: tuple[int, tuple[CheckCounts, ...]],
) -> None:
    stuck, checks = story
    for check in in_order(checks):
        before = standing_before(
            checks,
            checked_on=check.checked_on,
            running=check.running,
            stuck=stuck,
            stuck_on=STUCK_ON,
        )
        assert before.unrooted >= check.rooted + check.lost_in_all


@given(first=st.integers(0, 40), second=st.integers(0, 40))
def test_two_checks_of_one_day_go_by_their_number(first: int, second: int) -> None:
    checks = (
        count(9, rooted=second, running=2, ending=Ending.DUMPED),
        count(9, rooted=first, running=1),
    )
    standing = tally(checks, stuck=96, stuck_on=STUCK_ON)
    assert standing.dumped == 96 - first - second
