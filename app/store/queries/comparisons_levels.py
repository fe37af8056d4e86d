"""The levels of a factor that batches have, for the choices of a comparison."""

from dataclasses import dataclass, replace

from sqlalchemy.orm import Session

from app.domain.comparisons_questions import MONTHS_A_SEASON, SEASONS, Factor
from app.domain.strike_rates_keys import RateKey
from app.domain.strike_rates_questions import RateQuestion
from app.store.queries.strike_rates import get_rate_answer


@dataclass(frozen=True, kw_only=True)
class FactorLevel:
    """A level as files print it, and how many batches of the question have it."""

    value: str
    batches: int


def list_factor_levels(
    session: Session, *, factor: Factor, asked: RateQuestion
) -> tuple[FactorLevel, ...]:
    """Return the levels that have batches among those asked about, in the order of rates.

    Filters by the factor's own name are left aside.

    Raises:
        NotAccepted: a filter's value is unknown.
    """
    where = tuple(each for each in asked.where if each.key is not factor.key)
    open_question = replace(asked, by=(), where=where)
    if factor is Factor.SEASON:
        return _seasons(session, asked=open_question)
    answer = get_rate_answer(session, question=replace(open_question, by=(factor.key,)))
    return tuple(
        FactorLevel(value=group.values[0], batches=group.facts.every.batches)
        for group in answer.groups
    )


def _seasons(session: Session, *, asked: RateQuestion) -> tuple[FactorLevel, ...]:
    answer = get_rate_answer(session, question=replace(asked, by=(RateKey.MONTH,)))
    counts = dict.fromkeys(SEASONS, 0)
    for group in answer.groups:
        (month,) = group.values
        if month.isdecimal():
            counts[SEASONS[(int(month) - 1) // MONTHS_A_SEASON]] += group.facts.every.batches
    return tuple(
        FactorLevel(value=season, batches=number) for season, number in counts.items() if number
    )
