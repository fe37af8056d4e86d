"""Reading what a plan rests on: every batch once, the method card, what became of rooted ones."""

from dataclasses import dataclass, field, replace
from datetime import date
from typing import Final

from sqlalchemy.orm import Session

from app.domain.fit_records import type_code
from app.domain.nursery_fits import NurseryFit
from app.domain.order_plans import (
    AfterRooting,
    OrderPlan,
    PlanAsked,
    PlanBasis,
    PlanSubject,
    latest_day,
    plan_order,
)
from app.domain.order_rates import (
    AskedGroup,
    PlannedBatches,
    RateBasis,
    RateRestsOn,
    rate_basis,
    usual_type,
)
from app.domain.order_times import CardWeeks, time_basis
from app.domain.orders import Order
from app.domain.published_rates import find_published_rate
from app.store.queries.method_cards import KnownCard, list_cards
from app.store.queries.planned_batches import read_planned_batches
from app.store.queries.rooted_losses import find_own_ready

SET_HERE: Final = "as set here"


@dataclass(frozen=True, kw_only=True)
class PlanBooks:
    """What several plans share: every batch, and what was learned from them, if anything."""

    batches: PlannedBatches = field(repr=False)
    fit: NurseryFit | None = field(repr=False)


def read_plan_books(session: Session, *, fit: NurseryFit | None) -> PlanBooks:
    """Return what any number of plans made in one go rest on."""
    return PlanBooks(batches=read_planned_batches(session), fit=fit)


def plan_for_order(session: Session, *, books: PlanBooks, order: Order, today: date) -> OrderPlan:
    """Return the answer to an order as it is entered, for sticking from today on."""
    subject = PlanSubject.of(order)
    asked = PlanAsked.of(order.entry)
    return make_plan(session, books=books, subject=subject, asked=asked, today=today)


def make_plan(
    session: Session, *, books: PlanBooks, subject: PlanSubject, asked: PlanAsked, today: date
) -> OrderPlan:
    """Return the answer to what is asked of a subject."""
    basis = find_basis(session, books=books, subject=subject, asked=asked, today=today)
    return plan_order(asked, basis=basis, today=today)


def find_basis(
    session: Session, *, books: PlanBooks, subject: PlanSubject, asked: PlanAsked, today: date
) -> PlanBasis:
    """Return what the plan rests on: the rates are those of the month of sticking."""
    kind = type_code(subject.cutting_type) if subject.cutting_type else None
    group = AskedGroup(
        genus=subject.genus_id,
        plant=subject.plant_name_id,
        cutting_type=kind,
        hormone=subject.hormone_id,
    )
    times = time_basis(
        books.fit,
        genus=subject.genus_id,
        cutting_type=kind or usual_type(books.batches, asked=group),
        card=_card_weeks(session, subject),
    )
    nothing = RateBasis(
        rests_on=RateRestsOn.NOTHING,
        shares=None,
        own=0,
        of_genus=0,
        of_nursery=0,
        observed_share=None,
    )
    basis = PlanBasis(rates=nothing, times=times, after=_after_rooting(session, subject))
    stick_on = asked.stick_on or max(latest_day(asked.due_on, basis=basis), today)
    rates = rate_basis(
        books.batches,
        asked=group if subject.any_month else replace(group, month=stick_on.month),
        fit=books.fit,
        published=find_published_rate(genus=subject.genus, species=subject.species),
    )
    return replace(basis, rates=rates)


def _after_rooting(session: Session, subject: PlanSubject) -> AfterRooting:
    """Return what is set for the subject, else this nursery's own losses, else the usual ones."""
    after = AfterRooting()
    own = find_own_ready(session, genus_id=subject.genus_id, genus=subject.genus)
    if own is not None:
        after = replace(after, ready_share=own.share, ready_standing=own.standing)
    if subject.ready_share is not None:
        after = replace(after, ready_share=subject.ready_share, ready_standing=SET_HERE)
    if subject.weaning_days is not None:
        after = replace(after, weaning_days=subject.weaning_days, weaning_standing=SET_HERE)
    return after


def _card_weeks(session: Session, subject: PlanSubject) -> CardWeeks | None:
    """Return the weeks of the card that fits best: of the plant name, the species, the genus."""
    cards = [card for card in list_cards(session, text=subject.genus) if _fits(card, subject)]
    for card in sorted(
        cards, key=lambda card: (card.plant_name_id is None, card.species != subject.species)
    ):
        low, high = card.values.weeks_low, card.values.weeks_high
        if low or high:
            low, high = low or high or 0.0, high or low or 0.0
            return CardWeeks(low=low, high=high, standing=card.standings.get("weeks", ""))
    return None


def _fits(card: KnownCard, subject: PlanSubject) -> bool:
    """Return whether a card speaks of the subject; one of another species never does."""
    named = card.plant_name_id in {None, subject.plant_name_id}
    return (
        not card.retired
        and card.genus == subject.genus
        and (named if card.plant_name_id else card.species in {"", subject.species})
        and subject.cutting_type in {None, card.cutting_type}
    )
