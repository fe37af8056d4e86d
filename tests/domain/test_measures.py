"""Measured numbers as they are typed."""

import pytest

from app.domain.measures import hours_words, parse_hours, parse_measure, parse_span, span_words
from app.domain.problems import NotAccepted


@pytest.mark.parametrize(
    ("text", "wanted"),
    [
        ("12", 12),
        ("1.5", 1.5),
        ("1,5", 1.5),
        ("1,200", 1200),
        ("1 200", 1200),
        (".5", 0.5),
        ("20 °C", 20),
        ("20°c", 20),
        ("-2", -2),
        ("−2,5", -2.5),
        ("  ", None),
    ],
)
def test_a_number_is_read(text: str, wanted: float | None) -> None:
    assert parse_measure(text, field="x", low=-10, high=5000, unit="°C") == wanted


@pytest.mark.parametrize("text", ["warm", "1.2.3", "4-6", "1,2,3", "--2", "5001", "-11", ".", "°C"])
def test_what_is_no_such_number_is_refused_with_the_range(text: str) -> None:
    with pytest.raises(NotAccepted, match="from -10 to 5,000") as refused:
        parse_measure(text, field="heat", low=-10, high=5000, unit="°C")
    assert refused.value.problems[0].field == "heat"


def test_a_great_range_is_told_in_figures() -> None:
    with pytest.raises(NotAccepted, match="from 0 to 1,000,000"):
        parse_measure("none", field="x", low=0, high=1_000_000)


@pytest.mark.parametrize(
    ("text", "wanted"),
    [
        ("4 to 6", (4, 6)),
        ("4-6", (4, 6)),
        ("4 – 6 weeks", (4, 6)),
        ("8.6", (8.6, 8.6)),
        ("", None),
    ],
)
def test_a_span_is_read(text: str, wanted: tuple[float, float] | None) -> None:
    assert parse_span(text, field="x", low=0, high=100, unit="weeks") == wanted


@pytest.mark.parametrize("text", ["6 to 4", "4 to", "to 6", "4-6-8", "soon", "90-110"])
def test_what_is_no_span_is_refused(text: str) -> None:
    with pytest.raises(NotAccepted):
        parse_span(text, field="x", low=0, high=100, unit="weeks")


def test_spans_in_words() -> None:
    assert span_words(low=4, high=6, unit="weeks") == "4 to 6 weeks"
    assert span_words(low=8.6, high=8.6, unit="weeks") == "8.6 weeks"
    assert span_words(low=1, high=1, unit="weeks") == "1 week"
    assert span_words(low=3000, high=None, unit="ppm") == "3,000 ppm"
    assert span_words(low=None, high=None, unit="weeks") == ""


@pytest.mark.parametrize(
    ("typed", "hours", "words"),
    [
        ("5", 5, "5"),
        ("36 hours", 36, "36"),
        ("1 day", 24, "24"),
        ("3 days", 72, "3 days"),
        ("1.5d", 36, "36"),
        ("2 Weeks", 336, "2 weeks"),
        (" ", None, ""),
    ],
)
def test_hours_are_read_from_days_and_weeks(typed: str, hours: float | None, words: str) -> None:
    read = parse_hours(typed, field="stored_hours", low=0, high=8760)
    assert read == hours
    assert words == ("" if read is None else hours_words(read))


@pytest.mark.parametrize("typed", ["soon", "3 moons", "-1", "53 weeks", "9000", "2 3 days"])
def test_what_is_no_time_is_refused(typed: str) -> None:
    with pytest.raises(NotAccepted, match="3 days or 2 weeks"):
        parse_hours(typed, field="stored_hours", low=0, high=8760)
