"""How an order stands, in words; nothing is worked out here, so that Today costs little."""

from dataclasses import dataclass
from datetime import date

from app.domain.days import day_short
from app.domain.orders import NotPlannable, Order
from app.domain.strike_rates_words import batches, percent


@dataclass(frozen=True, kw_only=True)
class Mend:
    """What would make an order as sure as it is to be: so many more stuck by a day, or why not."""

    stick: int | None
    by_on: date
    refusal: NotPlannable | None = None


@dataclass(frozen=True, kw_only=True)
class OrderOutlook:
    """How an order stands. Counts are cuttings; `expected`, `low` and `high` are plants.

    `chance` is that of enough plants in time, None where nothing is forecast yet. `mend` is there
    where the chance is lower than it is to be.
    """

    batches: int
    stuck: int
    rooted: int
    unrooted: int
    potted: int
    chance: float | None = None
    expected: int = 0
    low: int = 0
    high: int = 0
    mend: Mend | None = None
    unlikely: bool = False


@dataclass(frozen=True, kw_only=True)
class OrderNotice:
    """An order that has become unlikely, for Today."""

    order: Order
    outlook: OrderOutlook


def standing_sentence(outlook: OrderOutlook) -> str:
    """Return what is stuck for an order and what became of it so far."""
    if not outlook.batches:
        return "Nothing is stuck for it yet."
    return (
        f"{batches(outlook.batches)}, {outlook.stuck:,} stuck for it: {outlook.rooted:,} rooted,"
        f" {outlook.unrooted:,} not rooted yet, {outlook.potted:,} potted up."
    )


def chance_sentence(outlook: OrderOutlook, *, plants: int) -> str:
    """Return how many plants are expected in time, and the chance of enough."""
    if outlook.chance is None:
        return "Too few batches are finished in the log to say how many plants that will make."
    return (
        f"About {outlook.expected:,} plants are expected in time from what is stuck"
        f" ({outlook.low:,} to {outlook.high:,}), with a chance of {percent(outlook.chance)} of"
        f" {plants:,} or more."
    )


def mend_sentence(outlook: OrderOutlook, *, sure: str, today: date) -> str:
    """Return what would make it as sure as it is to be, "" where it is."""
    mend = outlook.mend
    if mend is None:
        return ""
    if mend.stick is not None:
        more = " more" if outlook.stuck else ""
        by = "today" if mend.by_on == today else f"by {day_short(mend.by_on, today=today)}"
        return f"Stick {mend.stick:,}{more} {by} to be {sure} sure."
    if mend.refusal is NotPlannable.TOO_LATE:
        return (
            "Sticking more comes too late to root in time: agree on a later day or on fewer plants,"
            " or buy in rooted ones."
        )
    return (
        f"Not even ten more cuttings for each plant would make it {sure} sure: agree on fewer"
        " plants, or buy in rooted ones."
    )


def notice_sentences(notice: OrderNotice, *, today: date) -> tuple[str, ...]:
    """Return what Today says of an order that has become unlikely."""
    order, outlook = notice.order, notice.outlook
    mend = mend_sentence(outlook, sure=order.sure_words, today=today)
    chance = f"The chance of {order.entry.plants:,} in time is {percent(outlook.chance or 0.0)}."
    return tuple(sentence for sentence in (chance, mend) if sentence)
