"""How a stock plant stands on a day, and why: the one rule that every page, list and plan asks.

What is worse comes first: discarded, on hold, resting, watched, fit to cut.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Final

from app.domain.days import day_long, day_short
from app.domain.genus_cautions import FOLLOW_THE_LABEL
from app.domain.source_plants import Moment
from app.domain.stock_plant_events import PlantEvent, Result, finding_words
from app.domain.stock_plants import StateToday, StockPlantState
from app.domain.treatments import is_running, time_words

TRUE_TO_TYPE_WEEKS: Final = 104
"""So long after a look for truth to type it wants another (common practice, no source)."""


@dataclass(frozen=True, kw_only=True)
class StateFacts:
    """What the state of a stock plant rests on.

    `set_state` was set by hand, for `set_reason`. `events` are those that stand now, as
    `standing_events` gives them; those without a finding may be left out.
    """

    set_state: StockPlantState = StockPlantState.FIT
    set_reason: str = ""
    rest_weeks: int | None = None
    last_cut_on: date | None = None
    cut_back_on: date | None = None
    renew_by: date | None = None
    tested_until: date | None = None
    true_to_type_on: date | None = None
    reentry_at: datetime | None = None
    events: tuple[PlantEvent, ...] = ()


def state_on(day: date, *, facts: StateFacts, moment: Moment | None = None) -> StateToday:
    """Return how a stock plant stands on a day.

    It is on hold by hand, by what was found sick, wrong or not true to type, and while a re-entry
    time runs at `moment`. It rests by hand, and for its weeks after it was cut or cut back. It is
    watched by hand and for every reason of `watch_reasons`.
    """
    if facts.set_state is StockPlantState.DISCARDED:
        return StateToday(state=facts.set_state, reason=facts.set_reason)
    held = _held(facts, day=day, moment=moment)
    if held is not None:
        return StateToday(state=StockPlantState.ON_HOLD, reason=held)
    resting = _resting(facts, day=day)
    if resting is not None:
        return resting
    reasons = list(watch_reasons(facts, day=day))
    if facts.set_state is StockPlantState.WATCHED or reasons:
        by_hand = [facts.set_reason] if facts.set_state is StockPlantState.WATCHED else []
        told = "; ".join(filter(None, (*by_hand, *reasons)))
        return StateToday(state=StockPlantState.WATCHED, reason=told)
    return StateToday(state=StockPlantState.FIT, reason=facts.set_reason)


def watch_reasons(facts: StateFacts, *, day: date) -> Iterator[str]:
    """Yield why a plant wants watching on a day, apart from what was set by hand."""
    for event in _found(facts, Result.DOUBT, day=day):
        yield finding_words(event)
    if facts.tested_until is not None and facts.tested_until < day:
        yield f"the test held until {day_long(facts.tested_until)}"
    if facts.renew_by is not None and facts.renew_by < day:
        yield f"to be renewed by {day_long(facts.renew_by)}"
    looked_on = facts.true_to_type_on
    if looked_on is not None and day > looked_on + timedelta(weeks=TRUE_TO_TYPE_WEEKS):
        yield f"not looked at for truth to type since {day_long(looked_on)}"


def rested_on(*, rest_weeks: int | None, last_cut_on: date | None) -> date | None:
    """Return the day from which a plant may be cut again, None without a rest to keep."""
    if not rest_weeks or last_cut_on is None:
        return None
    return last_cut_on + timedelta(weeks=rest_weeks)


def state_remarks(
    facts: StateFacts, *, standing: StateToday, day: date, moment: Moment
) -> Iterator[str]:
    """Yield what wants seeing to besides the reason of its state: a re-entry time, or a watch."""
    until = _kept_out_until(facts, moment=moment)
    if until and standing.state is not StockPlantState.DISCARDED:
        yield f"Do not work among these plants before {until}. {FOLLOW_THE_LABEL}"
    if standing.state not in {StockPlantState.WATCHED, StockPlantState.DISCARDED}:
        for reason in watch_reasons(facts, day=day):
            yield f"{reason[:1].upper()}{reason[1:]}."


def state_words(standing: StateToday, *, today: date) -> str:
    """Return a state in words, such as "resting until Fri 4 Dec: cut on Mon 2 Nov, ..."."""
    until = f" until {day_short(standing.until, today=today)}" if standing.until else ""
    reason = f": {standing.reason}" if standing.reason else ""
    return f"{standing.state.value}{until}{reason}"


def _held(facts: StateFacts, *, day: date, moment: Moment | None) -> str | None:
    """Return why it is on hold, None if it is not."""
    reasons = [facts.set_reason] if facts.set_state is StockPlantState.ON_HOLD else []
    reasons += [finding_words(event) for event in _found(facts, Result.BAD, day=day)]
    until = _kept_out_until(facts, moment=moment)
    if until:
        reasons.append(f"after a treatment nobody works among it before {until}")
    return "; ".join(filter(None, reasons)) if reasons else None


def _kept_out_until(facts: StateFacts, *, moment: Moment | None) -> str:
    if (
        moment is None
        or facts.reentry_at is None
        or not is_running(facts.reentry_at, now=moment.now)
    ):
        return ""
    return time_words(facts.reentry_at, zone=moment.zone)


def _resting(facts: StateFacts, *, day: date) -> StateToday | None:
    by_hand = facts.set_state is StockPlantState.RESTING
    cut, back = facts.last_cut_on, facts.cut_back_on
    last = max((each for each in (cut, back) if each is not None), default=None)
    again_on = rested_on(rest_weeks=facts.rest_weeks, last_cut_on=last)
    if again_on is None or last is None or not day < again_on:
        return StateToday(state=facts.set_state, reason=facts.set_reason) if by_hand else None
    weeks = "1 week" if facts.rest_weeks == 1 else f"{facts.rest_weeks} weeks"
    how = "cut" if last == cut else "cut back"
    why = f"{how} on {day_short(last, today=day)}, {weeks} of rest"
    if by_hand:
        # It was set by hand for as long as it takes: the end of the usual rest does not end it.
        reason = "; ".join(filter(None, (facts.set_reason, why)))
        return StateToday(state=facts.set_state, reason=reason)
    until = again_on - timedelta(days=1)
    return StateToday(state=StockPlantState.RESTING, reason=why, until=until)


def _found(facts: StateFacts, result: Result, *, day: date) -> Iterator[PlantEvent]:
    for event in facts.events:
        if event.result is result and event.happened_on <= day:
            yield event
