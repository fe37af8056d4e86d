"""What a device says of an entry that waited: believed, doubted, or not worth telling."""

from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.domain.waited_entries import FARTHEST, waited_entry

NOW = datetime(2026, 11, 25, 11, 5, tzinfo=UTC)
ZONE = "Europe/London"
DAY = 24 * 3600


def words(seconds: int, now: datetime = NOW) -> str:
    found = waited_entry(str(seconds), mark="", now=now)
    assert found is not None
    return found.words(zone=ZONE)


@pytest.mark.parametrize("typed", ["", "0", "59", "-5", "soon", "1.5", "9" * 13])
def test_what_did_not_wait_is_not_told(typed: str) -> None:
    assert waited_entry(typed, mark="", now=NOW) is None


def test_recorded_and_received_are_told_by_the_nursery_s_clock() -> None:
    assert words(83 * 60) == "recorded 09:42 on a device, received 11:05"
    summer = datetime(2026, 7, 1, 11, 5, tzinfo=UTC)
    assert words(83 * 60, now=summer) == "recorded 10:42 on a device, received 12:05"


def test_another_day_is_named() -> None:
    assert words(DAY) == "recorded Tue 24 Nov, 11:05 on a device, received Wed 25 Nov, 11:05"


@pytest.mark.parametrize("seconds", [-3600, 32 * DAY, 30 * 365 * DAY])
def test_a_claim_that_cannot_be_believed_is_marked_and_limited(seconds: int) -> None:
    found = waited_entry(str(seconds), mark="", now=NOW)
    assert found is not None
    assert found.doubtful
    assert abs(found.recorded_at - NOW) <= FARTHEST
    assert "which may be wrong" in found.words(zone=ZONE)


@given(st.integers(min_value=60, max_value=31 * DAY))
def test_a_claim_that_can_is_taken_as_it_is(seconds: int) -> None:
    found = waited_entry(str(seconds), mark="", now=NOW)
    assert found is not None
    assert not found.doubtful
    assert found.recorded_at == NOW - timedelta(seconds=seconds)


def test_a_mark_is_kept_however_short_the_wait_was() -> None:
    found = waited_entry("3", mark="KT-12", now=NOW)
    assert found is not None
    assert found.mark == "KT-12"


@pytest.mark.parametrize("mark", ["kt-12", "K-12", "KT-12345", "<b>", "KT-12\n"])
def test_what_is_no_mark_of_ours_is_left_out(mark: str) -> None:
    assert waited_entry("3", mark=mark, now=NOW) is None
