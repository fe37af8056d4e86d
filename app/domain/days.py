"""Calendar days as people type them and as pages say them. The day comes before the month."""

import re
from collections.abc import Iterable
from datetime import date, timedelta
from typing import Final

from app.domain.problems import NotAccepted

WEEKDAYS: Final = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
MONTHS: Final = (
    "January", "February", "March", "April", "May", "June",
    "July", "August", "September", "October", "November", "December",
)  # fmt: skip
EARLIEST: Final = date(1950, 1, 1)
LATEST: Final = date(2100, 12, 31)

_EXAMPLE: Final = 'Give a day such as "24/11", "24 nov", "24.11.2026", "-3" or "today".'
_NO_SUCH_DAY: Final = "There is no such day in the calendar: check day and month, day first."
_FOUR_YEARS_TO_LEAP: Final = 8
_YEAR_IS_SAID_AFTER: Final = 183
_WORDS: Final = {"t": 0, "today": 0, "y": -1, "yesterday": -1, "tomorrow": 1}
_OFFSET: Final = re.compile(r"(?P<sign>[-−–+])\s*(?P<days>[0-9]{1,5})(?:\s*d(?:ays?)?)?")
_ISO: Final = re.compile(r"(?P<year>[0-9]{4})-(?P<month>[0-9]{1,2})-(?P<day>[0-9]{1,2})")
_NUMBERS: Final = re.compile(
    r"(?P<day>[0-9]{1,2})\s*(?P<gap>[-./ ])\s*(?P<month>[0-9]{1,2})"
    r"\.?(?:\s*(?P=gap)\s*(?P<year>[0-9]{4}|[0-9]{2}))?"
)
_NAMED: Final = re.compile(
    r"(?P<day>[0-9]{1,2})(?:st|nd|rd|th)?[-. ]*(?P<month>[a-z]{3,9})\.?"
    r"(?:[-. ,]*(?P<year>[0-9]{4}|[0-9]{2}))?"
)
_WITH_WEEKDAY: Final = re.compile(r"(?P<weekday>[a-z]{2,9})[., ]+(?P<rest>[0-9].*)")
_WEEK: Final = re.compile(r"(?:week|wk|w)\.? ?(?P<week>[0-9]{1,2})(?:,? (?P<year>[0-9]{4}))?")
_ISO_WEEK: Final = re.compile(r"(?P<year>[0-9]{4})-?w(?P<week>[0-9]{1,2})")


def parse_day(text: str, *, today: date, field: str, ahead: bool = False) -> date:
    """Return the day typed as "24/11", "24 nov", "2026-11-24", "-3", "t", "yesterday" or "mon".

    Without a year, and for weekdays, it is the latest such day up to `today`; with `ahead`, for
    plans, the next one from `today` on.

    Raises:
        NotAccepted: it is no day, lies in the future without `ahead`, is not between 1950 and
            2100, or the weekday named is not that day's.
    """
    line = " ".join(text.lower().split())
    if not line:
        raise NotAccepted.at(field, _EXAMPLE)
    day = _relative(line, today=today, ahead=ahead)
    if day is None:
        day = _calendar_day(line, today=today, field=field, ahead=ahead)
    if not EARLIEST <= day <= LATEST:
        raise NotAccepted.at(field, f"Give a day from {EARLIEST.year} to {LATEST.year}.")
    if day > today and not ahead:
        sentence = f"{day_long(day)} is still to come: give a day up to today."
        raise NotAccepted.at(field, sentence)
    return day


def parse_day_or_week(text: str, *, today: date, field: str) -> date:
    """Return the day typed as for `parse_day` with `ahead`, or the Monday of "week 20".

    A week is one by ISO 8601, with its year behind it ("week 20 2027") or as "2027-W20". Without
    a year it is the next one whose Monday is not before `today`.

    Raises:
        NotAccepted: as `parse_day`, or there is no such week in the year.
    """
    line = " ".join(text.lower().split())
    typed = _WEEK.fullmatch(line) or _ISO_WEEK.fullmatch(line)
    if typed is None:
        return parse_day(text, today=today, field=field, ahead=True)
    week = int(typed["week"])
    years = [int(typed["year"])] if typed["year"] else range(today.year, today.year + 8)
    mondays = [monday for year in years if (monday := _monday(year, week))]
    ahead = [monday for monday in mondays if monday >= today]
    if not mondays:
        raise NotAccepted.at(field, f"There is no week {week} in that year: weeks go to 52 or 53.")
    return (ahead or mondays)[0]


def parse_optional_day(text: str, *, today: date, field: str, ahead: bool = False) -> date | None:
    """Return None for a blank, otherwise what `parse_day` returns.

    Raises:
        NotAccepted: as `parse_day`.
    """
    return parse_day(text, today=today, field=field, ahead=ahead) if text.strip() else None


def day_short(day: date, *, today: date) -> str:
    """Return "Tue 24 Nov", with the year added where it would not be plain."""
    year = "" if abs((day - today).days) <= _YEAR_IS_SAID_AFTER else f" {day.year}"
    return f"{WEEKDAYS[day.weekday()][:3]} {day.day} {MONTHS[day.month - 1][:3]}{year}"


def day_long(day: date) -> str:
    """Return "Tue 24 November 2026"."""
    return f"{WEEKDAYS[day.weekday()][:3]} {day.day} {MONTHS[day.month - 1]} {day.year}"


def distance(day: date, *, today: date) -> str:
    """Return "today", "yesterday", "3 days ago", "tomorrow" or "in 3 days"."""
    days = (day - today).days
    if abs(days) <= 1:
        return ("yesterday", "today", "tomorrow")[days + 1]
    return f"in {days:,} days" if days > 0 else f"{-days:,} days ago"


def lateness(due_on: date, *, today: date, late: bool = True) -> str:
    """Return "3 days late", "1 day late", "due today", "due tomorrow" or "due in 3 days".

    What was due before today and is not `late` yet is "due 3 days ago".
    """
    days = (today - due_on).days
    if days > 0 and late:
        return f"{days:,} {'day' if days == 1 else 'days'} late"
    return f"due {distance(due_on, today=today)}"


def day_and_distance(day: date, *, today: date) -> str:
    """Return "Tue 24 Nov, 3 days ago"."""
    return f"{day_short(day, today=today)}, {distance(day, today=today)}"


def iso_week(day: date) -> str:
    """Return the week by ISO 8601, such as "2026-W53"; its year may differ from the day's."""
    year, week, _ = day.isocalendar()
    return f"{year:04d}-W{week:02d}"


def _monday(year: int, week: int) -> date | None:
    try:
        return date.fromisocalendar(year, week, 1)
    except ValueError:
        return None


def _relative(line: str, *, today: date, ahead: bool) -> date | None:
    if line in _WORDS:
        return today + timedelta(days=_WORDS[line])
    if offset := _OFFSET.fullmatch(line):
        days = int(offset["days"])
        return today + timedelta(days=days if offset["sign"] == "+" else -days)
    weekday = _named(line, names=WEEKDAYS, shortest=2)
    if weekday is None:
        return None
    back = (today.weekday() - weekday) % 7
    return today + timedelta(days=-back % 7) if ahead else today - timedelta(days=back)


def _calendar_day(line: str, *, today: date, field: str, ahead: bool) -> date:
    weekday = None
    if named := _WITH_WEEKDAY.fullmatch(line):
        weekday = _named(named["weekday"], names=WEEKDAYS, shortest=2)
        line = named["rest"] if weekday is not None else line
    typed = _ISO.fullmatch(line) or _NUMBERS.fullmatch(line) or _NAMED.fullmatch(line)
    month = _month(typed["month"]) if typed else None
    if typed is None or month is None:
        raise NotAccepted.at(field, _EXAMPLE)
    years = _years(typed["year"], today=today, ahead=ahead)
    day = _first_sensible(int(typed["day"]), month, years, today=today, ahead=ahead)
    if day is None:
        raise NotAccepted.at(field, _NO_SUCH_DAY)
    if weekday is not None and day.weekday() != weekday:
        sentence = f"{day_long(day)} is a {WEEKDAYS[day.weekday()]}: check the day or the year."
        raise NotAccepted.at(field, sentence)
    return day


def _named(word: str, *, names: tuple[str, ...], shortest: int) -> int | None:
    if len(word) < shortest:
        return None
    starts = [place for place, name in enumerate(names) if name.lower().startswith(word)]
    return starts[0] if len(starts) == 1 else None


def _month(typed: str) -> int | None:
    if typed.isdigit():
        return int(typed)
    place = _named("sep" if typed == "sept" else typed, names=MONTHS, shortest=3)
    return None if place is None else place + 1


def _years(typed: str | None, *, today: date, ahead: bool) -> Iterable[int]:
    """Return the years the typed one may mean, the most sensible first."""
    if typed is None:
        span = range(_FOUR_YEARS_TO_LEAP + 1)
        return [today.year + years if ahead else today.year - years for years in span]
    if len(typed) == len("2026"):
        return [int(typed)]
    century = today.year // 100 * 100
    return [century + int(typed)] if ahead else [century + int(typed), century - 100 + int(typed)]


def _first_sensible(
    day: int, month: int, years: Iterable[int], *, today: date, ahead: bool
) -> date | None:
    """Return the first real day among the years that lies on the right side of today.

    Where none does, the first real one is returned, for the caller to refuse by its date.
    """
    real = [found for year in years if (found := _real(year, month, day))]
    fitting = [found for found in real if (found >= today if ahead else found <= today)]
    return next(iter(fitting or real), None)


def _real(year: int, month: int, day: int) -> date | None:
    try:
        return date(year, month, day)
    except ValueError:
        return None
