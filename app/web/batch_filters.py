"""The filters of the list of batches, as they stand in its address."""

from dataclasses import dataclass
from datetime import date
from typing import Final

from werkzeug.datastructures import MultiDict
from wtforms import Form, SelectField, StringField

from app.domain.days import parse_optional_day
from app.domain.people import Actor
from app.domain.problems import NotAccepted
from app.domain.strike_rates_keys import RateKey, value_words
from app.domain.strike_rates_questions import (
    DayOf,
    RateFilter,
    RateQuestion,
    within_own_sight,
)
from app.store.queries.batch_lists import BatchesIn, BatchesWanted, BatchKey

_DAYS: Final = ("since", "until")
_LARGEST_ID: Final = 2**62


@dataclass(frozen=True, kw_only=True)
class WantedList:
    """What the address asks for: which batches, and on which side of a key if any."""

    batches: BatchesWanted
    older_than: BatchKey | None
    newer_than: BatchKey | None


class FilterForm(Form):
    """The few filters in sight; all names of strike rates can stand in the address besides."""

    text = StringField("Plant name or own reference")
    state = SelectField("Which", choices=[state.value for state in BatchesIn])
    since = StringField("Stuck since")
    until = StringField("Stuck until")

    def __init__(self, args: MultiDict[str, str]) -> None:
        super().__init__(args)


def wanted_of(args: MultiDict[str, str], *, actor: Actor, today: date) -> WantedList:
    """Return what the address asks for.

    Raises:
        NotAccepted: a day cannot be read, the days are the wrong way round, or the filter is for
            somebody else's work and the role may not see that.
    """
    since, until = (_day(args.get(name, ""), today=today, field=name) for name in _DAYS)
    where = tuple(
        RateFilter(key=key, value=value)
        for key in RateKey
        for value in args.getlist(key.value)
        if value.strip()
    )
    question = RateQuestion(
        where=where,
        since=since,
        until=until,
        day_of=DayOf.TAKEN if args.get("day_of") == DayOf.TAKEN.value else DayOf.STUCK,
    )
    state = args.get("state") or BatchesIn.ALL.value
    if state not in set(BatchesIn):
        raise NotAccepted.at("state", "Choose one from the list.")
    batches = BatchesWanted(
        question=within_own_sight(question, actor=actor),
        state=BatchesIn(state),
        text=" ".join(args.get("text", "").split()),
    )
    return WantedList(
        batches=batches,
        older_than=_key(args.get("older", "")),
        newer_than=_key(args.get("newer", "")),
    )


def filters_in_words(args: MultiDict[str, str]) -> tuple[str, ...]:
    """Return each filter of the address in words, such as "genus Hebe"."""
    words = [
        f"{key.label} {value_words(value, key=key)}"
        for key in RateKey
        for value in args.getlist(key.value)
        if value.strip()
    ]
    words += [f"stuck {name} {args[name]}" for name in _DAYS if args.get(name, "").strip()]
    if (state := args.get("state")) and state != BatchesIn.ALL.value:
        words.append(state)
    if text := args.get("text", "").strip():
        words.append(f'"{text}"')
    return tuple(words)


def key_text(key: BatchKey) -> str:
    """Return a place in the list as it stands in an address."""
    return f"{key.stuck_on.isoformat()}_{key.batch_id}"


def _day(text: str, *, today: date, field: str) -> date | None:
    """Return a day as typed; one in full, as links carry it, may also lie ahead."""
    try:
        return date.fromisoformat(text.strip())
    except ValueError:
        return parse_optional_day(text, today=today, field=field)


def _key(text: str) -> BatchKey | None:
    day, _, number = text.partition("_")
    try:
        key = BatchKey(stuck_on=date.fromisoformat(day), batch_id=int(number))
    except ValueError:
        return None
    return key if key.batch_id <= _LARGEST_ID else None
