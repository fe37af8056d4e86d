"""What can be asked about strike rates: by which names, for which batches, between which days."""

from dataclasses import dataclass, replace
from datetime import date
from enum import StrEnum
from typing import Final

from app.domain.cutting_types import OTHER_WAYS, CuttingType
from app.domain.days import MONTHS, parse_optional_day
from app.domain.people import Actor
from app.domain.permissions import Permission, allowed
from app.domain.problems import NotAccepted, Problem
from app.domain.strike_rates import RateOf
from app.domain.strike_rates_keys import NOT_RECORDED, RateKey, parse_rate_key, value_words
from app.domain.way_words import told_for

MOST_NAMES: Final = 2


class DayOf(StrEnum):
    """Which day of a batch gives its month and year and is held against since and until."""

    STUCK = "stuck"
    TAKEN = "taken"


class Restuck(StrEnum):
    """Whether batches that were re-stuck from another are counted."""

    WITH = "with"
    WITHOUT = "without"
    ONLY = "only"


USUAL_RESTUCK: Final = Restuck.WITHOUT


class Ways(StrEnum):
    """Which batches by their way: cuttings strike, divisions live, grafts take."""

    EVERY = "every way"
    CUTTINGS = "cuttings"
    OTHERS = "divisions and grafts"


"""What pages and commands count unless told: the first sticking of each cutting."""


@dataclass(frozen=True, kw_only=True)
class RateFilter:
    """Only batches whose `key` reads `value` as files print it; NOT_RECORDED for a blank."""

    key: RateKey
    value: str


@dataclass(frozen=True, kw_only=True)
class RateQuestion:
    """A question about strike rates.

    `by` holds none (one figure for everything), one or two different names. Filters of one name
    are alternatives, those of different names must all hold. `since` and `until` are inclusive
    days of `day_of`. `only_person_id` narrows it to what one person stuck. `of` asks for the share
    that struck, or for plants ready per cutting stuck.
    """

    by: tuple[RateKey, ...] = ()
    where: tuple[RateFilter, ...] = ()
    since: date | None = None
    until: date | None = None
    day_of: DayOf = DayOf.STUCK
    restuck: Restuck = Restuck.WITH
    ways: Ways = Ways.EVERY
    only_person_id: int | None = None
    of: RateOf = RateOf.STRIKE

    def __post_init__(self) -> None:
        problems = (*_problems_of_names(self.by), *_problems_of_days(self.since, self.until))
        if problems:
            raise NotAccepted(problems)

    def values_of(self, key: RateKey) -> tuple[str, ...]:
        """Return the values that a batch's `key` may have, none meaning any."""
        return tuple(each.value for each in self.where if each.key is key)

    def narrowed(self, *filters: RateFilter) -> "RateQuestion":
        """Return the same question for one square of its answer, by no name any more.

        A filter replaces those of the same name: the square is one of the alternatives.
        """
        taken = {each.key for each in filters}
        kept = tuple(each for each in self.where if each.key not in taken)
        return replace(self, by=(), where=(*kept, *filters))


def parse_rate_filter(text: str, *, field: str = "where") -> RateFilter:
    """Return the filter typed as NAME=VALUE; an empty value means not recorded.

    Raises:
        NotAccepted: there is no equals sign or no such name.
    """
    name, sign, value = text.partition("=")
    if not sign:
        sentence = f'Write the filter as NAME=VALUE, such as "genus=Cistus", not "{text}".'
        raise NotAccepted.at(field, sentence)
    return RateFilter(key=parse_rate_key(name, field=field), value=value.strip() or NOT_RECORDED)


def parse_limit_day(text: str, *, today: date, field: str) -> date | None:
    """Return the first or last day typed in the field "since" or "until", None for a blank.

    A bare year is its first day in "since" and its last in "until". A day in full may lie ahead.

    Raises:
        NotAccepted: it is no day.
    """
    typed = text.strip()
    if len(typed) == len("2026") and typed.isdecimal():
        typed += "-01-01" if field == "since" else "-12-31"
    try:
        return date.fromisoformat(typed)
    except ValueError:
        return parse_optional_day(typed, today=today, field=field)


def parse_restuck(text: str, *, field: str = "restuck") -> Restuck:
    """Return the choice typed, the usual one for a blank.

    Raises:
        NotAccepted: it is none of them.
    """
    try:
        return Restuck(text.strip() or USUAL_RESTUCK)
    except ValueError:
        sentence = "Choose with, without or only for batches re-stuck from another."
        raise NotAccepted.at(field, sentence) from None


def parse_rate_of(text: str, *, field: str = "rate") -> RateOf:
    """Return which rate is asked for, the strike rate for a blank.

    Raises:
        NotAccepted: it is neither.
    """
    try:
        return RateOf(text.strip() or RateOf.STRIKE)
    except ValueError:
        raise NotAccepted.at(field, "Choose strike, or ready.") from None


def usual_day_of(where: tuple[RateFilter, ...]) -> DayOf:
    """Return the day that months go by when nobody chose: of taking for hardwood, else of sticking.

    Hardwood is often taken in one month and stuck in another after storage.
    """
    types = types_of(where)
    return DayOf.TAKEN if types == {CuttingType.HARDWOOD.value} else DayOf.STUCK


def usual_ways(where: tuple[RateFilter, ...]) -> Ways:
    """Return which ways are counted: cuttings, unless a filter asks for divisions or grafts."""
    return Ways.EVERY if other_ways_of(where) else Ways.CUTTINGS


def other_ways_of(where: tuple[RateFilter, ...]) -> frozenset[str]:
    """Return which of division and graft the filters ask for, by cutting type or method."""
    return frozenset(types_of(where) & {each.value for each in OTHER_WAYS})


def only_way_of(where: tuple[RateFilter, ...]) -> str:
    """Return "division" or "graft" where the filters ask for nothing else, else ""."""
    types = types_of(where)
    return next(iter(types)) if len(types) == 1 and other_ways_of(where) else ""


def types_of(where: tuple[RateFilter, ...]) -> set[str]:
    """Return the cutting types that the filters ask for, by type or by method."""
    return {
        each.value.lower().partition(",")[0].strip()
        for each in where
        if each.key in {RateKey.CUTTING_TYPE, RateKey.METHOD}
    }


def within_own_sight(question: RateQuestion, *, actor: Actor) -> RateQuestion:
    """Return the question as this person may ask it: figures by person only for themselves.

    Raises:
        NotAccepted: a filter names somebody else and the role may not see everybody.
    """
    if allowed(actor.role, Permission.SEE_EVERYBODY):
        return question
    named = question.values_of(RateKey.PERSON)
    if any(value.casefold() != actor.name.casefold() for value in named):
        sentence = "You can see figures by person for yourself only. Ask the head for the others."
        raise NotAccepted.at(RateKey.PERSON.value, sentence)
    if RateKey.PERSON in question.by or named:
        return replace(question, only_person_id=actor.person_id)
    return question


def question_words(question: RateQuestion) -> str:
    """Return the question as a sentence without its full stop, for headings and files."""
    by = " and ".join(key.label for key in question.by)
    rate = "Strike rate" if question.of is RateOf.STRIKE else "Plants ready per cutting stuck"
    rate = told_for(rate, cutting_type=only_way_of(question.where))
    asked = f"{rate} by {by}" if by else rate
    filters = [
        f"{key.label} {' or '.join(value_words(value, key=key) for value in values)}"
        for key in RateKey
        if (values := question.values_of(key))
    ]
    return ", ".join([asked, *filters, *_days_words(question)])


def filter_words(question: RateQuestion) -> tuple[str, ...]:
    """Return each filter in words, such as "month April", in the order of the question."""
    return tuple(
        f"{each.key.label} {value_words(each.value, key=each.key)}" for each in question.where
    )


def _days_words(question: RateQuestion) -> list[str]:
    words = [
        f"{question.day_of} {word} {day.day} {MONTHS[day.month - 1]} {day.year}"
        for word, day in (("since", question.since), ("until", question.until))
        if day
    ]
    if question.day_of is DayOf.TAKEN and {RateKey.MONTH, RateKey.YEAR} & _names_in(question):
        words.append("by the day of taking")
    if question.restuck is Restuck.ONLY:
        words.append("only batches re-stuck from another")
    return words


def _names_in(question: RateQuestion) -> set[RateKey]:
    return {*question.by, *(each.key for each in question.where)}


def _problems_of_names(by: tuple[RateKey, ...]) -> tuple[Problem, ...]:
    if len(by) > MOST_NAMES:
        sentence = f"Ask by one or two names at a time, not {len(by)}."
        return (Problem(field="by", sentence=sentence),)
    if len(set(by)) < len(by):
        sentence = f"Ask by {by[0].label} once, or choose another second name."
        return (Problem(field="by", sentence=sentence),)
    return ()


def _problems_of_days(since: date | None, until: date | None) -> tuple[Problem, ...]:
    if since and until and since > until:
        sentence = f"Give a last day that is not before the first, {since.isoformat()}."
        return (Problem(field="until", sentence=sentence),)
    return ()
