"""Questions about strike rates as they stand in an address, read and written."""

from datetime import date
from typing import Any, Final
from urllib.parse import urlencode

from flask import url_for
from werkzeug.datastructures import MultiDict

from app.domain.people import Actor
from app.domain.problems import NotAccepted
from app.domain.strike_rates import RateOf
from app.domain.strike_rates_answers import RateGroup
from app.domain.strike_rates_keys import RateKey, parse_rate_key
from app.domain.strike_rates_questions import (
    MOST_NAMES,
    DayOf,
    RateFilter,
    RateQuestion,
    parse_limit_day,
    parse_rate_of,
    parse_restuck,
    usual_day_of,
    usual_ways,
    within_own_sight,
)

USUAL: Final = (RateKey.GENUS, RateKey.CUTTING_TYPE)
"""What is asked by where the address says nothing."""

Pairs = list[tuple[str, str]]


def question_of(
    args: MultiDict[str, str], *, actor: Actor, today: date, by_any: bool = True
) -> RateQuestion:
    """Return the question of an address; without `by_any` its names are left out.

    `by` and `and` hold the names, each name its own filter, which may be given several times.
    `day_of` left blank means the usual one: of taking for hardwood, else of sticking.

    Raises:
        NotAccepted: a name or a day cannot be read, or it asks for what this person may not see;
            each problem's field is the name in the address.
    """
    where = tuple(
        RateFilter(key=key, value=" ".join(value.split()))
        for key in RateKey
        for value in args.getlist(key.value)
        if value.strip()
    )
    since, until = (
        parse_limit_day(args.get(field, ""), today=today, field=field)
        for field in ("since", "until")
    )
    question = RateQuestion(
        by=_names(args) if by_any else (),
        where=where,
        since=since,
        until=until,
        day_of=_day_of(args.get("day_of", "")) or usual_day_of(where),
        restuck=parse_restuck(args.get("restuck", "")),
        ways=usual_ways(where),
        of=parse_rate_of(args.get("rate", "")),
    )
    return within_own_sight(question, actor=actor)


def pairs_of(question: RateQuestion) -> Pairs:
    """Return the question as the pairs of an address, everything said and nothing left to habit."""
    pairs = [(name, key.value) for name, key in zip(("by", "and"), question.by, strict=False)]
    pairs += [(each.key.value, each.value) for each in question.where]
    days = (("since", question.since), ("until", question.until))
    pairs += [(name, day.isoformat()) for name, day in days if day]
    pairs.append(("day_of", question.day_of.value))
    pairs.append(("restuck", question.restuck.value))
    if question.of is not RateOf.STRIKE:
        pairs.append(("rate", question.of.value))
    return pairs


def address(endpoint: str, pairs: Pairs, **parts: Any) -> str:
    """Return the address of a page with these pairs behind it; `parts` are those of its path."""
    return f"{url_for(endpoint, **parts)}?{urlencode(pairs)}"


def behind_address(group: RateGroup, *, question: RateQuestion) -> str:
    """Return the address of the batches behind one square of the answer."""
    filters = (
        RateFilter(key=key, value=value)
        for key, value in zip(question.by, group.values, strict=False)
    )
    return address(
        "strike_rates.show_batches",
        [*pairs_of(question.narrowed(*filters)), *of_pairs(question.by)],
    )


def of_pairs(names: tuple[RateKey, ...]) -> Pairs:
    """Return the pairs that say which names a square was one value of."""
    return [("of", key.value) for key in names]


def names_of_square(args: MultiDict[str, str]) -> tuple[RateKey, ...]:
    """Return the names that the square of an address was one value of, none if not said.

    Raises:
        NotAccepted: there is no such name.
    """
    names = tuple(parse_rate_key(text, field="of") for text in args.getlist("of"))
    return names if len(set(names)) == len(names) <= MOST_NAMES else ()


def _names(args: MultiDict[str, str]) -> tuple[RateKey, ...]:
    first, second = (
        tuple(parse_rate_key(text, field=field) for text in args.getlist(field) if text.strip())
        for field in ("by", "and")
    )
    return first + second or USUAL


def _day_of(text: str) -> DayOf | None:
    if not text:
        return None
    try:
        return DayOf(text)
    except ValueError:
        sentence = "Choose the day of sticking or of taking."
        raise NotAccepted.at("day_of", sentence) from None
