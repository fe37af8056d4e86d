"""The command `stick`: how many cuttings to stick of a plant for so many by a day."""

import argparse
import json
from collections.abc import Callable, Iterator
from datetime import date, timedelta
from typing import TYPE_CHECKING, Any, Final

from sqlalchemy.orm import Session

from app.cli.context import Context
from app.cli.learning import learn_or_remark
from app.clock import local_date
from app.domain.days import day_short, parse_day_or_week
from app.domain.measures import parse_measure
from app.domain.orders import LEAST_SURE, MOST_BATCHES, MOST_PLANTS, MOST_SURE, USUAL_BATCHES
from app.domain.problems import NotAccepted
from app.domain.quantities import parse_quantity
from app.services.orders import NamedPlant, find_wanted_plant
from app.store.queries.fits import find_fit
from app.store.queries.nursery import get_nursery

if TYPE_CHECKING:
    from app.domain.order_plans import OrderPlan, PlanAsked

FORMATS: Final = ("table", "json")
_WRONG_USAGE: Final = 2
# Without a day nothing runs out: it is far enough for everything that roots.
_FAR_AHEAD: Final = timedelta(days=1_000)


def add_parser(commands: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    """Add `stick --plant NAME --number N` with its day, sureness, batches and format."""
    stick = commands.add_parser(
        "stick",
        help="how many cuttings to stick for an order",
        description="How many cuttings to stick so that enough plants are there.",
    )
    stick.add_argument("--plant", required=True, metavar="NAME", help="a plant, or a genus")
    stick.add_argument("--number", required=True, metavar="N", help="how many plants are wanted")
    stick.add_argument("--by", default="", metavar="D", help='the day, such as "week 20"')
    stick.add_argument(
        "--sure", default="0.9", metavar="SHARE",
        help="how sure it is to be, 0.5 to 0.99 or in per cent (default: 0.9)",
    )  # fmt: skip
    stick.add_argument(
        "--batches", default=str(USUAL_BATCHES), metavar="B",
        help=f"in how many independent batches (default: {USUAL_BATCHES})",
    )  # fmt: skip
    stick.add_argument("--format", choices=FORMATS, default="table", help="default: table")


def run(args: argparse.Namespace, context: Context) -> int:
    """Write the answer and return 0, 1 where no number can be given, 2 for a wrong question.

    With `--format json` the keys are `stick`, `chance`, `naive`, `naive_chance`, `batches`,
    `latest_on` and `basis`; what is not known is null.
    """
    database = context.open_database()
    try:
        learn_or_remark(context, database=database)
        with database.reading() as session:
            today = local_date(context.clock.now(), zone=get_nursery(session).zone)
            try:
                named, asked = _question(session, args, today=today)
            except NotAccepted as refusal:
                context.remark(str(refusal))
                return _WRONG_USAGE
            plan = _plan(session, named, asked=asked, today=today)
    finally:
        database.close()
    for line in _WRITERS[args.format](plan, named, today):
        context.say(line)
    return 0 if plan.stick is not None else _refused(context, plan, today=today)


def _refused(context: Context, plan: "OrderPlan", *, today: date) -> int:
    from app.domain.order_words import refusal_sentence  # noqa: PLC0415 - loads numpy

    context.remark(refusal_sentence(plan, today=today))
    return 1


def _question(
    session: Session, args: argparse.Namespace, *, today: date
) -> "tuple[NamedPlant, PlanAsked]":
    from app.domain.order_plans import PlanAsked  # noqa: PLC0415 - loads numpy

    named = find_wanted_plant(session, typed=args.plant)
    due_on, stick_on = today + _FAR_AHEAD, None if args.by else today
    if args.by:
        due_on = parse_day_or_week(args.by, today=today, field="by")
        if due_on <= today:
            raise NotAccepted.at("by", "This day is not to come any more: give one after today.")
    plants = parse_quantity(args.number, field="number", least=1, most=MOST_PLANTS).number
    batches = parse_quantity(args.batches, field="batches", least=1, most=MOST_BATCHES).number
    return named, PlanAsked(
        plants=plants,
        due_on=due_on,
        sure_share=_sure(args.sure),
        batches=batches,
        stick_on=stick_on,
    )


def _sure(typed: str) -> float:
    """Return the share typed as "0.9", "90" or "90 %"."""
    value = parse_measure(typed, field="sure", low=0, high=100, unit="%")
    share = (value or 0.0) if (value or 0.0) < 1.0 else (value or 0.0) / 100.0
    if not LEAST_SURE <= share <= MOST_SURE:
        sentence = f"Say how sure, from {LEAST_SURE:g} to {MOST_SURE:g}."
        raise NotAccepted.at("sure", sentence)
    return share


def _plan(session: Session, named: NamedPlant, *, asked: "PlanAsked", today: date) -> "OrderPlan":
    from app.domain.order_plans import PlanSubject  # noqa: PLC0415 - loads numpy
    from app.store.queries.order_plans import make_plan, read_plan_books  # noqa: PLC0415 - as above

    stored = find_fit(session)
    books = read_plan_books(session, fit=stored.fit if stored else None)
    subject = PlanSubject(
        genus_id=named.genus_id,
        genus=named.genus,
        species=named.species,
        plant_name_id=named.plant_name_id,
        # Without a day it is left open when they are stuck.
        any_month=asked.stick_on is not None,
    )
    return make_plan(session, books=books, subject=subject, asked=asked, today=today)


def _table(plan: "OrderPlan", named: NamedPlant, today: date) -> Iterator[str]:
    # All of these load numpy, which no other command should pay for.
    from app.domain.order_plans import iterate_steps  # noqa: PLC0415 - as said
    from app.domain.order_words import answer_sentence, basis_sentences  # noqa: PLC0415 - as said
    from app.domain.strike_rates_words import percent  # noqa: PLC0415 - as said

    yield f"{plan.asked.plants:,} {named.plant}"
    if plan.stick is not None:
        yield answer_sentence(plan, need=None, today=today)
    rows = [
        (words, "-" if number.stick is None else f"{number.stick:,}", percent(number.chance))
        for words, number in iterate_steps(plan)
    ]
    yield from _columns(rows) if rows else ()
    yield ""
    if not _open_ended(plan):
        yield f"Nine in ten root in time if stuck by {day_short(plan.latest_on, today=today)}."
    yield from basis_sentences(plan, genus=named.genus)


def _columns(rows: list[tuple[str, str, str]]) -> Iterator[str]:
    yield ""
    heads = ("", "stick", "chance")
    widths = [max(len(row[place]) for row in (heads, *rows)) for place in range(len(heads))]
    for words, number, chance in (heads, *rows):
        yield f"{words.ljust(widths[0])}  {number.rjust(widths[1])}  {chance.rjust(widths[2])}"


def _open_ended(plan: "OrderPlan") -> bool:
    """Return whether no day was asked for."""
    return plan.asked.stick_on is not None


def _json(plan: "OrderPlan", _named: NamedPlant, _today: date) -> Iterator[str]:
    from app.domain.order_words import basis_code  # noqa: PLC0415 - loads numpy

    record: dict[str, Any] = {
        "stick": plan.stick,
        "chance": round(plan.chance, 4),
        "naive": plan.naive,
        "naive_chance": round(plan.naive_chance, 4),
        "batches": plan.asked.batches,
        "latest_on": None if _open_ended(plan) else plan.latest_on.isoformat(),
        "basis": basis_code(plan),
    }
    yield json.dumps(record, indent=2)


_WRITERS: Final[dict[str, Callable[["OrderPlan", NamedPlant, date], Iterator[str]]]] = {
    "table": _table,
    "json": _json,
}
