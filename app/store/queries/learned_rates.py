"""Strike rates with what the batches taught: the answer of `strike_rates` and its estimates."""

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

import numpy as np
from sqlalchemy import Row
from sqlalchemy.orm import Session

from app.domain.nursery_fits import NurseryFit
from app.domain.rate_estimates import estimate_groups
from app.domain.rate_members import RateMembers, leaning_order
from app.domain.strike_rates import RateSquare, rate_of
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

    Until twelve batches are finished nothing is learned yet, and the plain answer is returned.
    Sums over the rows and over everything are estimated as questions of their own: by the first
    name, and by none.

    Raises:
        NotAccepted: a filter's value is unknown.
    """
    if not fit.may_forecast:
        return get_rate_answer(session, question=question)
    answer = get_rate_answer(session, question=question, correlation=fit.correlation)
    first = replace(question, by=question.by[:1])
    whole = replace(question, by=())
    one_name = len(question.by) < 2
    groups = _with_estimates(session, answer.groups, question=question, fit=fit)
    rows = groups if one_name else _with_estimates(session, answer.rows, question=first, fit=fit)
    (total,) = _with_estimates(
        session, (RateGroup(values=(), facts=answer.total),), question=whole, fit=fit
    )
    return replace(
        answer,
        groups=groups,
        rows=rows,
        total_learned=total.learned,
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
    if not fit.may_forecast:
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
        if row.batches
    }
    rows = session.execute(members_statement(question, conditions=conditions)).all()
    values = [spelled[raw_keys_of_row(row, question=question)] for row in rows]
    groups = np.array([places[value] for value in values], dtype=np.int64)
    return RateMembers(
        batch_ids=np.array([row.batch_id for row in rows], dtype=np.int64),
        groups=groups,
        paths=_paths(question, rows, values, groups),
        rooted=np.array([float(row.rooted) for row in rows]),
        failed=np.array([float(row.failed) for row in rows]),
        unknown=np.array([float(row.unknown) for row in rows]),
    )


def _with_estimates(
    session: Session, groups: tuple[RateGroup, ...], *, question: RateQuestion, fit: NurseryFit
) -> tuple[RateGroup, ...]:
    places = {group.values: place for place, group in enumerate(groups)}
    members = read_members(session, question=question, places=places)
    estimates = estimate_groups(members, groups=len(groups), by=question.by, fit=fit)
    return tuple(
        replace(group, learned=learned) for group, learned in zip(groups, estimates, strict=True)
    )


def _paths(
    question: RateQuestion,
    rows: Sequence[Row[Any]],
    values: list[tuple[str, ...]],
    groups: Ints,
) -> tuple[Ints, ...]:
    order = leaning_order(question.by)
    if not order:
        return ()
    paths: list[Ints] = []
    for key in order[:-1]:
        level = _numbers(key, question, rows, values)
        path = np.stack([paths[-1], level]) if paths else level[None, :]
        paths.append(np.unique(path, axis=1, return_inverse=True)[1].ravel())
    return (*paths, groups)


def _numbers(
    key: RateKey,
    question: RateQuestion,
    rows: Sequence[Row[Any]],
    values: list[tuple[str, ...]],
) -> Ints:
    if key not in question.by:
        return np.array([row.genus_id for row in rows], dtype=np.int64)
    place = question.by.index(key)
    return np.unique([value[place] for value in values], return_inverse=True)[1].ravel()
