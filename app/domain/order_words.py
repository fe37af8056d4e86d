"""The answer to an order in sentences, and what it rests on with its standing."""

from collections.abc import Iterator
from datetime import date
from typing import Final

from app.domain.days import day_short
from app.domain.order_plans import OrderPlan
from app.domain.order_rates import RateBasis, RateRestsOn
from app.domain.order_times import TimeBasis, TimesRestOn
from app.domain.orders import NotPlannable, sure_words
from app.domain.standings import COMMON_PRACTICE
from app.domain.stock_needs import StockNeed, StockYield, YieldRestsOn
from app.domain.strike_rates_words import batches, percent, range_words

RUN_A_TEST: Final = "Run a test batch: it says more than any sum."
_LEVELS: Final = (0.5, 0.05, 0.95)


def answer_sentence(plan: OrderPlan, *, need: StockNeed | None, today: date) -> str:
    """Return the answer in one sentence, or why there is none."""
    if plan.refusal is not None:
        return refusal_sentence(plan, today=today)
    asked = plan.asked
    when = "on or before" if asked.stick_on is None and not plan.is_late else "on"
    split = "in one batch" if asked.batches == 1 else f"in {asked.batches} batches"
    source = f", from at least {_plants(need)}" if need else ""
    return (
        f"Stick {plan.stick or 0:,} cuttings {when} {day_short(plan.stick_on, today=today)}"
        f" {split}{source}; expect about {plan.expected:,} plants"
        f" ({plan.low:,} to {plan.high:,}), with a chance of {percent(plan.chance)} of"
        f" {asked.plants:,} or more."
    )


def refusal_sentence(plan: OrderPlan, *, today: date) -> str:
    """Return why no number is given, and what to do instead."""
    if plan.refusal is NotPlannable.NOTHING_KNOWN:
        return (
            "Not plannable: no batch of this nursery says how many of it root, and no published"
            f" result is at hand. {RUN_A_TEST}"
        )
    if plan.refusal is NotPlannable.TOO_LATE:
        return (
            f"Too late: stuck on {day_short(plan.stick_on, today=today)} it would have"
            f" {max(plan.days_to_root, 0)} days to root, and hardly any does in that time. Agree"
            " on a later day, or buy in rooted plants."
        )
    if plan.is_late:
        return (
            f"Not plannable: by {day_short(plan.stick_on, today=today)} too few have time to root,"
            " and ten cuttings for each plant would not be enough. Agree on a later day or on"
            " fewer plants."
        )
    return (
        "Not plannable: even ten cuttings for each plant would not be"
        f" {sure_words(plan.asked.sure_share)} sure. {RUN_A_TEST}"
    )


def basis_sentences(plan: OrderPlan, *, genus: str) -> Iterator[str]:
    """Yield what the answer rests on, each with its standing."""
    rates = plan.basis.rates
    yield rate_sentence(rates, genus=genus)
    if rates.rests_on in {RateRestsOn.NURSERY, RateRestsOn.PUBLISHED} and not plan.refusal:
        yield RUN_A_TEST
    yield time_sentence(plan.basis.times, genus=genus)
    after = plan.basis.after
    yield (
        f"Of the rooted ones {percent(after.ready_share)} are taken to be ready in the end"
        f" ({after.ready_standing}), {after.weaning_days} days after rooting"
        f" ({after.weaning_standing})."
    )


def rate_sentence(rates: RateBasis, *, genus: str) -> str:
    """Return the share that roots, with its range and what it rests on."""
    if rates.shares is None:
        return "Nothing is known of how many root."
    middle, low, high = rates.shares.quantiles(_LEVELS)
    about = percent(middle)
    about = f"About {about}" if about[0].isdigit() else about.capitalize()
    share = f"{about} root ({range_words(low, high=high)}, nine times in ten)"
    return f"{share}: {_leaning(rates, genus=genus)}."


def time_sentence(times: TimeBasis, *, genus: str) -> str:
    """Return the days to root and what they rest on."""
    half, most = times.days_until(0.5), times.days_until()
    days = f"Half of those that root have after about {half} days, nine in ten after {most}"
    return f"{days} ({_times_standing(times, genus=genus)})."


def stock_sentences(need: StockNeed | None, *, given: StockYield) -> Iterator[str]:
    """Yield how many stock plants it takes, and what is at hand."""
    if given.plants == 0:
        yield (
            "No stock plant of it is kept: the cuttings have to be bought in or collected, or the"
            " plants they come from entered."
        )
    if need is None:
        if given.plants:
            yield (
                "How many cuttings a plant gives is not recorded: enter it on the stock plant, or"
                " give the number taken when a batch is stuck."
            )
        return
    rest = (
        f"with {given.rest_weeks} weeks of rest between two cuts"
        if given.rest_weeks
        else "since no rest between two cuts is recorded"
    )
    yield (
        f"It takes {_plants(need)}, {rest}, at {need.per_plant:.3g} cuttings from a plant at one"
        f" cut ({_yield_standing(need)})."
    )
    if given.plants and given.fit < need.plants:
        yield (
            f"Only {given.fit:,} of the {given.plants:,} kept may be cut today: take more weeks,"
            " more flushes, or cuttings from elsewhere."
        )


def basis_code(plan: OrderPlan) -> str:
    """Return in one word what the rate rests on: own, genus, nursery, published or none."""
    return {
        RateRestsOn.OWN: "own",
        RateRestsOn.GENUS: "genus",
        RateRestsOn.NURSERY: "nursery",
        RateRestsOn.PUBLISHED: "published",
        RateRestsOn.NOTHING: "none",
    }[plan.basis.rates.rests_on]


def _leaning(rates: RateBasis, *, genus: str) -> str:
    own = batches(rates.own)
    if rates.rests_on is RateRestsOn.OWN:
        return f"rests on {own} of your own"
    if rates.rests_on is RateRestsOn.GENUS:
        first = f"only {own} of it" if rates.own else "none of it yet"
        return f"{first}, so it leans on {batches(rates.of_genus)} of {genus}"
    if rates.rests_on is RateRestsOn.NURSERY:
        leaning = f"it leans on {batches(rates.of_nursery)} of the whole nursery"
        return f"none of {genus} yet, so {leaning}"
    published = rates.published
    if published is None:
        return "nothing is known"
    noun = "result" if published.results == 1 else "results"
    return (
        f"no batch of yours yet, so it leans on {published.results} published {noun},"
        f" {range_words(published.low_share, high=published.high_share)}"
        f" ({published.citation}), with a wide margin"
    )


def _times_standing(times: TimeBasis, *, genus: str) -> str:
    if times.rests_on is TimesRestOn.TYPE:
        return f"{batches(times.finished)} of this genus and type"
    if times.rests_on is TimesRestOn.GENUS:
        return f"{batches(times.finished)} of {genus}"
    if times.rests_on is TimesRestOn.NURSERY:
        return f"{batches(times.finished)} of the whole nursery, none of {genus}"
    if times.card is not None:
        return f"from the method card: {times.card.standing or COMMON_PRACTICE}"
    return "an assumption, no source"


def _yield_standing(need: StockNeed) -> str:
    cuts = "cut" if need.records == 1 else "cuts"
    if need.rests_on is YieldRestsOn.RECORDS:
        return f"what four in five of {need.records:,} recorded {cuts} reached"
    if need.rests_on is YieldRestsOn.FEW_RECORDS:
        return f"0.8 times the mean of {need.records:,} recorded {cuts}; {COMMON_PRACTICE}"
    return f"0.8 times what is expected of it; {COMMON_PRACTICE}"


def _plants(need: StockNeed) -> str:
    plants = "stock plant" if need.plants == 1 else "stock plants"
    flushes = "one flush" if need.flushes == 1 else f"{need.flushes} flushes"
    return f"{need.plants:,} {plants} in {flushes}"
