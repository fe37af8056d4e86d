"""From a plan to what its page shows: sentences, tables as text, and the picture."""

from dataclasses import dataclass
from datetime import date
from typing import Final

from sqlalchemy.orm import Session

from app.domain.order_notices import chance_sentence, mend_sentence, standing_sentence
from app.domain.order_plans import (
    NumberAndChance,
    OrderPlan,
    PlanAsked,
    PlanSubject,
    iterate_steps,
    list_batch_choices,
    list_chances,
    list_stick_days,
)
from app.domain.order_words import answer_sentence, basis_sentences, stock_sentences
from app.domain.orders import Order
from app.domain.stock_needs import StockNeed, stock_need
from app.domain.strike_rates_words import percent
from app.store.queries.order_outlooks import outlook_of_order
from app.store.queries.order_plans import PlanBooks, make_plan, plan_for_order
from app.store.queries.order_progress import OrderedLine, list_ordered_batches
from app.store.queries.stock_yields import read_stock_yield
from app.web.order_pictures import ChancePicture, chance_picture

_NONE: Final = "not plannable"
_DAYS_A_WEEK: Final = 7


@dataclass(frozen=True, kw_only=True)
class ShownNumber:
    """A line of a table: what it is, how many cuttings, and the chance of enough."""

    what: str
    stick: str
    chance: str
    chosen: bool = False


@dataclass(frozen=True, kw_only=True)
class ShownDay:
    """A line of the table of days: stuck on it, so many days are left and so many root in time."""

    stick_on: date
    days: int
    in_time: str
    stick: str
    chosen: bool


@dataclass(frozen=True, kw_only=True)
class ShownAnswer:
    """The answer to an order as its page shows it."""

    plan: OrderPlan
    sentence: str
    need: StockNeed | None
    stock: tuple[str, ...]
    basis: tuple[str, ...]
    steps: tuple[ShownNumber, ...]
    by_batches: tuple[ShownNumber, ...]
    days: tuple[ShownDay, ...]
    chances: tuple[ShownNumber, ...]
    picture: ChancePicture | None


def answer_for(
    session: Session,
    *,
    books: PlanBooks,
    subject: PlanSubject,
    asked: PlanAsked,
    window_weeks: int,
    today: date,
) -> ShownAnswer:
    """Return the answer for what is asked of a subject."""
    plan = make_plan(session, books=books, subject=subject, asked=asked, today=today)
    given = read_stock_yield(
        session, plant_name_id=subject.plant_name_id, genus_id=subject.genus_id, on=today
    )
    weeks = min(window_weeks, max((plan.stick_on - today).days // _DAYS_A_WEEK + 1, 1))
    need = stock_need(plan.stick, given=given, window_weeks=weeks) if plan.stick else None
    known = plan.basis.rates.shares is not None and plan.in_time_share > 0.0
    chances = list_chances(plan) if known else ()
    return ShownAnswer(
        plan=plan,
        sentence=answer_sentence(plan, need=need, today=today),
        need=need,
        stock=tuple(stock_sentences(need, given=given)),
        basis=tuple(basis_sentences(plan, genus=subject.genus)),
        steps=tuple(_line(what, number) for what, number in iterate_steps(plan)),
        by_batches=_by_batches(plan) if known else (),
        days=_days(plan, today=today) if known else (),
        chances=tuple(_line("", one) for one in chances),
        picture=chance_picture(
            [(one.stick or 0, one.chance) for one in chances],
            sure=asked.sure_share,
            plan=plan.stick,
            naive=plan.naive,
        ),
    )


@dataclass(frozen=True, kw_only=True)
class ShownProgress:
    """How an order stands: its batches, and sentences of what is expected of them."""

    lines: tuple[OrderedLine, ...]
    sentences: tuple[str, ...]
    unlikely: bool


def progress_for(session: Session, *, books: PlanBooks, order: Order, today: date) -> ShownProgress:
    """Return how an order stands, worked out from the batches as they are now."""
    plan = plan_for_order(session, books=books, order=order, today=today)
    outlook = outlook_of_order(session, books=books, order=order, plan=plan, today=today)
    lines = list_ordered_batches(session, order_id=order.id)
    sentences = [standing_sentence(outlook)]
    if lines:
        sentences.append(chance_sentence(outlook, plants=order.entry.plants))
        sentences.append(mend_sentence(outlook, sure=order.sure_words, today=today))
    return ShownProgress(
        lines=lines,
        sentences=tuple(sentence for sentence in sentences if sentence),
        unlikely=outlook.unlikely,
    )


def _line(what: str, number: NumberAndChance, *, chosen: bool = False) -> ShownNumber:
    stick = _NONE if number.stick is None else f"{number.stick:,}"
    return ShownNumber(what=what, stick=stick, chance=percent(number.chance), chosen=chosen)


def _by_batches(plan: OrderPlan) -> tuple[ShownNumber, ...]:
    return tuple(
        _line(f"{batches:,}", number, chosen=batches == plan.asked.batches)
        for batches, number in list_batch_choices(plan)
    )


def _days(plan: OrderPlan, *, today: date) -> tuple[ShownDay, ...]:
    return tuple(
        ShownDay(
            stick_on=day.stick_on,
            days=max(day.days, 0),
            in_time=percent(day.in_time_share),
            stick=_NONE if day.need.stick is None else f"{day.need.stick:,}",
            chosen=day.stick_on == plan.stick_on,
        )
        for day in list_stick_days(plan, today=today)
    )
