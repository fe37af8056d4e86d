"""By what batches can be looked over for something that stands out, and since when."""

from dataclasses import dataclass
from datetime import date, timedelta
from enum import StrEnum
from typing import Final

from app.domain.people import Actor
from app.domain.permissions import Permission, allowed
from app.domain.problems import NotAccepted
from app.domain.strike_rates_questions import RateQuestion, Restuck, Ways, parse_limit_day

USUAL_DAYS: Final = 730


class StandoutBy(StrEnum):
    """What may need a look, as it stands in an address."""

    PERSON = "person"
    BENCH = "bench"
    MIX = "mix"
    MIX_LOT = "mix_lot"
    STOCK_PLANT = "stock_plant"

    @property
    def label(self) -> str:
        """One of them as a page says it."""
        return self.value.replace("_", " ")

    @property
    def plural(self) -> str:
        """Several of them as a page says it."""
        return _PLURALS[self]


_PLURALS: Final = {
    StandoutBy.PERSON: "people",
    StandoutBy.BENCH: "benches",
    StandoutBy.MIX: "mixes",
    StandoutBy.MIX_LOT: "mix lots",
    StandoutBy.STOCK_PLANT: "stock plants",
}


@dataclass(frozen=True, kw_only=True)
class StandoutQuestion:
    """What is looked over, and the batches of `asked` (by no name, only between its days).

    All of them are reckoned with; `only_person_id` limits what is shown to one person.
    """

    by: StandoutBy
    asked: RateQuestion
    only_person_id: int | None = None


def usual_since(today: date) -> date:
    """Return the first day looked at where nobody chose: two years back."""
    return today - timedelta(days=USUAL_DAYS)


def parse_standouts(
    by: str, *, since: str | None, until: str, today: date, actor: Actor
) -> StandoutQuestion:
    """Return the question of an address as this person may ask it.

    `since` is None where the address does not say it: then the last two years count. Whoever may
    not see figures by person sees the own ones only.

    Raises:
        NotAccepted: nothing of that name can be looked over, or a day cannot be read.
    """
    typed = by.strip() or StandoutBy.PERSON.value
    if typed not in set(StandoutBy):
        sentence = f'Nothing stands out by "{by}". Choose one of: {", ".join(StandoutBy)}.'
        raise NotAccepted.at("by", sentence)
    first = (
        usual_since(today) if since is None else parse_limit_day(since, today=today, field="since")
    )
    asked = RateQuestion(
        since=first,
        until=parse_limit_day(until, today=today, field="until"),
        restuck=Restuck.WITHOUT,
        ways=Ways.CUTTINGS,
    )
    own = typed == StandoutBy.PERSON.value and not allowed(actor.role, Permission.SEE_EVERYBODY)
    return StandoutQuestion(
        by=StandoutBy(typed), asked=asked, only_person_id=actor.person_id if own else None
    )
