"""Strike rates with what the batches taught: the answer of `strike_rates` and its estimates."""

from dataclasses import replace

import numpy as np
from sqlalchemy.orm import Session

from app.domain.nursery_fits import NurseryFit
from app.domain.rate_estimates import estimate_groups
from app.domain.rate_members import RateMembers, regrouped
from app.domain.strike_rates import GroupEstimate, RateOf, RateSquare, rate_of
from app.domain.strike_rates_answers import RateAnswer, RateGroup
from app.domain.strike_rates_keys import RateKey
from app.domain.strike_rates_questions import RateQuestion
from app.stats.trees import Ints
from app.store.queries.strike_rates import get_group_facts, get_rate_answer
from app.store.queries.strike_rates_filters import conditions_of
from app.store.queries.strike_rates_sums import (
    members_statement,
    raw_keys_of_row,
    sums_statement,
    values_of_row,
)


def get_learned_answer(session: Session, *, question: RateQuestion, fit: NurseryFit) -> RateAnswer:
    """Return the answer with the nursery's own correlation and an estimate for each group.

    Until twelve batches are finished nothing is learned yet, and the plain answer is returned. It
    is for plants ready as well: what is learned is about rooting.
    Sums over the rows and over everything are estimated as questions of their own: by the first
    name, and by none.

    Raises:
        NotAccepted: a filter's value is unknown.
    """
    if not fit.may_forecast or question.of is not RateOf.STRIKE:
        return get_rate_answer(session, question=question)
    answer = get_rate_answer(session, question=question, correlation=fit.correlation)
    if RateKey.STOCK_PLANT in question.by:
        return _with_sources(session, answer, fit=fit)
    members = read_members(session, question=question, places=_places(answer.groups))
    groups = _estimated(answer.groups, members, by=question.by, fit=fit)
    first = _places(answer.rows)
    rows = np.array([first[group.values[:1]] for group in answer.groups], dtype=np.int64)
    return replace(
        answer,
        groups=groups,
        rows=groups
        if len(question.by) == 1
        else _estimated(answer.rows, regrouped(members, places=rows), by=question.by[:1], fit=fit),
        total_learned=_total(members, groups=len(groups), fit=fit),
        correlation=fit.correlation,
        finished=fit.finished,
    )


def get_learned_square(
    session: Session,
    *,
    question: RateQuestion,
    fit: NurseryFit,
    of: tuple[RateKey, ...] = (),
) -> RateSquare:
    """Return the rate of all batches that answer to the filters, taken as one group.

    `of` are the names that the group was one value of, so that it leans as it did beside the
    others; each must have one filter.

    Raises:
        NotAccepted: a filter's value is unknown.
    """
    if not fit.may_forecast or question.of is not RateOf.STRIKE:
        return rate_of(get_group_facts(session, question=question))
    beside = _beside_others(session, question=question, fit=fit, of=of) if of else None
    if beside is not None:
        return beside
    whole = replace(question, by=())
    facts = get_group_facts(session, question=whole, correlation=fit.correlation)
    members = read_members(session, question=whole, places={(): 0})
    return rate_of(facts, learned=estimate_groups(members, groups=1, by=(), fit=fit)[0])


def _beside_others(
    session: Session, *, question: RateQuestion, fit: NurseryFit, of: tuple[RateKey, ...]
) -> RateSquare | None:
    values = tuple(value for key in of for value in question.values_of(key)[:1])
    others = tuple(each for each in question.where if each.key not in of)
    asked = replace(question, by=of, where=others)
    answer = get_learned_answer(session, question=asked, fit=fit)
    return next((group.square for group in answer.groups if group.values == values), None)


def read_members(
    session: Session, *, question: RateQuestion, places: dict[tuple[str, ...], int]
) -> RateMembers:
    """Return the batches behind the groups; `places` numbers the groups by their values.

    Raises:
        NotAccepted: a filter's value is unknown.
    """
    conditions = conditions_of(session, question=question)
    sums = sums_statement(question, conditions=conditions, correlation=0.0)
    spelled = {
        raw_keys_of_row(row, question=question): values_of_row(row, question=question)
        for row in session.execute(sums)
    }
    rows = session.execute(members_statement(question, conditions=conditions)).all()
    # Batch and genus stand first, the three counts last; what is between is the group's key.
    values = [spelled[tuple(row[2:-3])] for row in rows]
    by_genus = {RateKey.GENUS: np.array([row.genus_id for row in rows], dtype=np.int64)}
    return RateMembers(
        batch_ids=np.array([row.batch_id for row in rows], dtype=np.int64),
        groups=np.array([places[value] for value in values], dtype=np.int64),
        values=by_genus
        | {
            key: _numbered([value[place] for value in values])
            for place, key in enumerate(question.by)
        },
        rooted=np.array([float(row.rooted) for row in rows]),
        failed=np.array([float(row.failed) for row in rows]),
        unknown=np.array([float(row.unknown) for row in rows]),
    )


def _with_sources(session: Session, answer: RateAnswer, *, fit: NurseryFit) -> RateAnswer:
    """Return the answer by stock plants, where a batch may stand in several groups.

    Rows and the total count it once, so that they are questions of their own.
    """
    question = answer.question
    asked = (
        (answer.groups, question),
        (answer.rows, replace(question, by=question.by[:1])),
        ((RateGroup(values=(), facts=answer.total),), replace(question, by=())),
    )
    groups, rows, (total,) = (
        _estimated(
            found,
            read_members(session, question=one, places=_places(found)),
            by=one.by,
            fit=fit,
        )
        for found, one in asked
    )
    return replace(
        answer,
        groups=groups,
        rows=rows,
        total_learned=total.learned,
        correlation=fit.correlation,
        finished=fit.finished,
    )


def _places(groups: tuple[RateGroup, ...]) -> dict[tuple[str, ...], int]:
    return {group.values: place for place, group in enumerate(groups)}


def _estimated(
    groups: tuple[RateGroup, ...],
    members: RateMembers,
    *,
    by: tuple[RateKey, ...],
    fit: NurseryFit,
) -> tuple[RateGroup, ...]:
    estimates = estimate_groups(members, groups=len(groups), by=by, fit=fit)
    return tuple(
        replace(group, learned=learned) for group, learned in zip(groups, estimates, strict=True)
    )


def _total(members: RateMembers, *, groups: int, fit: NurseryFit) -> GroupEstimate | None:
    whole = regrouped(members, places=np.zeros(groups, dtype=np.int64))
    return estimate_groups(whole, groups=1, by=(), fit=fit)[0]


def _numbered(values: list[str]) -> Ints:
    numbers: dict[str, int] = {}
    found = [numbers.setdefault(value, len(numbers)) for value in values]
    return np.array(found, dtype=np.int64)
