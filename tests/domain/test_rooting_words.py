"""Times to root in words: about, with their range, and what is behind them."""

from app.domain.rooting_times import RootingDay, RootingTimes
from app.domain.rooting_words import behind_words, day_range, rooting_line, rooting_sentence


def day(middle: float) -> RootingDay:
    return RootingDay(day=middle, low=middle * 0.9, high=middle * 1.12)


def times(*, finished: int) -> RootingTimes:
    return RootingTimes(
        genus=1, cutting_type=3, finished=finished, tenth=day(18), half=day(27), nine_tenths=day(41)
    )


def test_a_day_is_about_and_has_its_range() -> None:
    assert day_range(day(27)) == "about 27 days (24 to 30)"
    assert day_range(day(1_310), unit="degree-days") == "about 1,310 degree-days (1,179 to 1,467)"


def test_what_is_behind_is_said() -> None:
    assert behind_words(14, leans_on="the whole nursery") == "14 finished batches"
    assert behind_words(1, leans_on="the whole nursery") == "1 finished batch"
    assert behind_words(0, leans_on="the whole nursery") == (
        "none finished yet, leans on the whole nursery"
    )


def test_the_sentence_over_the_picture() -> None:
    assert rooting_sentence(times(finished=14), leans_on="the whole nursery") == (
        "Half of the cuttings that root have after about 27 days (24 to 30). By 14 finished "
        "batches."
    )
    assert rooting_sentence(times(finished=0), leans_on="other Hebe").endswith(
        "None finished yet, leans on other Hebe."
    )


def test_a_line_of_the_list() -> None:
    line = rooting_line(times(finished=1), leans_on="")
    assert (line.tenth, line.half, line.nine_tenths, line.behind) == (
        "about 18 days (16 to 20)",
        "about 27 days (24 to 30)",
        "about 41 days (37 to 46)",
        "1 finished batch",
    )
