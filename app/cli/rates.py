"""The command `rates`: strike rates by one or two names, as a table, CSV or JSON."""

import argparse
import json
from collections.abc import Callable, Iterator
from datetime import date
from typing import Final, TypeVar

from sqlalchemy.orm import Session

from app.cli.context import Context
from app.cli.learning import learn_or_remark
from app.clock import local_date
from app.domain.problems import NotAccepted
from app.domain.strike_rates import RateOf
from app.domain.strike_rates_answers import Figure, RateAnswer, RateGroup, columns_of, figures_of
from app.domain.strike_rates_keys import RateKey, parse_rate_key, value_words
from app.domain.strike_rates_questions import (
    USUAL_RESTUCK,
    DayOf,
    RateFilter,
    RateQuestion,
    Restuck,
    parse_limit_day,
    parse_rate_filter,
    question_words,
    usual_ways,
)
from app.domain.strike_rates_words import (
    NO_DATA,
    batches,
    correlation_sentence,
    cuttings,
    estimate_words,
)
from app.formats.csv_sheets import csv_chunks
from app.store.queries.fits import find_fit
from app.store.queries.nursery import get_nursery
from app.store.queries.strike_rates import get_rate_answer

FORMATS: Final = ("table", "csv", "json")
_COUNTS: Final = ("batches", "stuck", "rooted", "lost", "dumped", "cleared_unrooted", "unrooted")
_WRONG_USAGE: Final = 2

Read = TypeVar("Read")


def add_parser(commands: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    """Add `rates --by NAME [--by NAME]` with its filters, days and formats."""
    names = ", ".join(RateKey)
    rates = commands.add_parser(
        "rates",
        help="strike rates by one or two names",
        description=f"Strike rates by one or two of these names: {names}.",
    )
    rates.add_argument(
        "--by", action="append", required=True, metavar="NAME", type=_typed(_key),
        help="what to group by; give it once or twice",
    )  # fmt: skip
    rates.add_argument(
        "--where", action="append", default=[], metavar="NAME=VALUE", type=_typed(_filter),
        help="only these batches; a name given twice means either value",
    )  # fmt: skip
    rates.add_argument("--since", metavar="D", default="", help="first day, or a year")
    rates.add_argument("--until", metavar="D", default="", help="last day, or a year")
    rates.add_argument(
        "--month-of", choices=[each.value for each in DayOf], default=DayOf.STUCK.value,
        help="the day that month, year, --since and --until go by (default: stuck)",
    )  # fmt: skip
    rates.add_argument(
        "--restuck", choices=[each.value for each in Restuck], default=USUAL_RESTUCK.value,
        help="count batches re-stuck from another: with, without (default) or only them",
    )  # fmt: skip
    rates.add_argument(
        "--of", choices=[each.value for each in RateOf], default=RateOf.STRIKE.value,
        help="the share that struck (default), or plants ready per cutting stuck",
    )  # fmt: skip
    rates.add_argument("--format", choices=FORMATS, default="table", help="default: table")


def run(args: argparse.Namespace, context: Context) -> int:
    """Write the answer and return 0, or 2 where the question itself cannot be asked.

    Raises:
        NotAccepted: a value is not in the log.
    """
    database = context.open_database()
    try:
        learn_or_remark(context, database=database)
        with database.reading() as session:
            today = local_date(context.clock.now(), zone=get_nursery(session).zone)
            try:
                question = _question(args, today=today)
            except NotAccepted as refusal:
                context.remark(str(refusal))
                return _WRONG_USAGE
            answer = _answer(session, question)
    finally:
        database.close()
    for line in _WRITERS[args.format](answer):
        context.say(line)
    return 0


def _answer(session: Session, question: RateQuestion) -> RateAnswer:
    from app.store.queries.learned_rates import get_learned_answer  # noqa: PLC0415 - loads numpy

    stored = find_fit(session)
    if stored is None:
        return get_rate_answer(session, question=question)
    return get_learned_answer(session, question=question, fit=stored.fit)


def _question(args: argparse.Namespace, *, today: date) -> RateQuestion:
    return RateQuestion(
        by=tuple(args.by),
        where=tuple(args.where),
        since=parse_limit_day(args.since, today=today, field="since"),
        until=parse_limit_day(args.until, today=today, field="until"),
        day_of=DayOf(args.month_of),
        restuck=Restuck(args.restuck),
        ways=usual_ways(tuple(args.where)),
        of=RateOf(args.of),
    )


def _key(text: str) -> RateKey:
    return parse_rate_key(text)


def _filter(text: str) -> RateFilter:
    return parse_rate_filter(text)


def _typed(parse: Callable[[str], Read]) -> Callable[[str], Read]:
    """Return the reader of an argument whose refusals argparse reports as wrong usage."""

    def read(text: str) -> Read:
        try:
            return parse(text)
        except NotAccepted as refusal:
            raise argparse.ArgumentTypeError(str(refusal)) from None

    return read


def _table(answer: RateAnswer) -> Iterator[str]:
    total = answer.total.every
    yield f"{question_words(answer.question)}."
    if not answer.groups:
        yield f"{NO_DATA.capitalize()}: no batch answers to this."
        return
    yield f"{batches(total.batches)}, {cuttings(total.stuck)}."
    yield ""
    rows = [_heads(answer.question), *(_cells(group, answer) for group in answer.groups)]
    widths = [max(len(row[place]) for row in rows) for place in range(len(rows[0]))]
    named = len(answer.question.by)
    for row in rows:
        padded = [
            cell.rjust(width) if named <= place < named + len(_COUNTS) else cell.ljust(width)
            for place, (cell, width) in enumerate(zip(row, widths, strict=True))
        ]
        yield "  ".join(padded).rstrip()
    yield ""
    yield correlation_sentence(answer.correlation, finished=answer.finished)
    if RateKey.STOCK_PLANT in answer.question.by:
        yield "A batch taken from several stock plants counts in the line of each."


def _heads(question: RateQuestion) -> tuple[str, ...]:
    said = {"rooted": question.of.made, "unrooted": question.of.open}
    counts = (said.get(name, name.replace("_", " ")) for name in _COUNTS)
    return (*(key.label for key in question.by), *counts, "rate", "rests on", "")


def _cells(group: RateGroup, answer: RateAnswer) -> tuple[str, ...]:
    square, every = group.square, group.facts.every
    values = (
        value_words(value, key=key)
        for key, value in zip(answer.question.by, group.values, strict=True)
    )
    counts = (f"{getattr(every, name):,}" for name in _COUNTS)
    few = "few" if square.few else ""
    return (*values, *counts, estimate_words(square), square.basis.value, few)


def _csv(answer: RateAnswer) -> Iterator[str]:
    written = b"".join(csv_chunks(_lines(answer), mark=False)).decode()
    # The terminal, or the file it is sent to, ends lines in its own way.
    yield from written.removesuffix("\r\n").split("\r\n")


def _json(answer: RateAnswer) -> Iterator[str]:
    columns, *lines = _lines(answer)
    records = [dict(zip(map(str, columns), line, strict=True)) for line in lines]
    yield json.dumps(records, ensure_ascii=False, indent=2)


def _lines(answer: RateAnswer) -> list[tuple[Figure, ...]]:
    question = answer.question
    figures = (figures_of(group, question=question) for group in answer.groups)
    return [columns_of(question), *figures]


_WRITERS: Final[dict[str, Callable[[RateAnswer], Iterator[str]]]] = {
    "table": _table,
    "csv": _csv,
    "json": _json,
}
