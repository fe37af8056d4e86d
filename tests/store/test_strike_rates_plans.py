"""How the database goes about rates: one pass over a covering index, on whichever database."""

from datetime import date

import pytest
from sqlalchemy import text
from sqlalchemy.dialects import postgresql
from sqlalchemy.orm import Session

from app.domain.strike_rates import ASSUMED_CORRELATION
from app.domain.strike_rates_keys import RateKey
from app.domain.strike_rates_questions import DayOf, RateQuestion
from app.store.queries.strike_rates_filters import conditions_of
from app.store.queries.strike_rates_sums import sums_statement


def explained(session: Session, question: RateQuestion) -> str:
    statement = sums_statement(
        question,
        conditions=conditions_of(session, question=question),
        correlation=ASSUMED_CORRELATION,
    )
    connection = session.connection()
    compiled = statement.compile(connection, compile_kwargs={"literal_binds": True})
    rows = connection.execute(text(f"EXPLAIN QUERY PLAN {compiled}"))
    return "\n".join(row.detail for row in rows)


@pytest.mark.parametrize(
    "by",
    [
        (RateKey.GENUS, RateKey.MONTH),
        (RateKey.GENUS, RateKey.METHOD),
        (RateKey.METHOD, RateKey.MONTH),
        (RateKey.CUTTING_TYPE, RateKey.YEAR),
        (RateKey.GENUS,),
        (),
    ],
)
def test_genus_method_and_month_read_one_covering_index(
    session: Session, by: tuple[RateKey, ...]
) -> None:
    plan = explained(session, RateQuestion(by=by))
    assert "SCAN batch_facts USING COVERING INDEX ix_batch_facts_rates" in plan
    assert " batches" not in plan


def test_between_days_the_summary_is_still_enough(session: Session) -> None:
    plan = explained(session, RateQuestion(by=(RateKey.METHOD,), since=date(2023, 1, 1)))
    assert "batch_facts USING" in plan
    assert " batches" not in plan


@pytest.mark.parametrize("key", [RateKey.PERSON, RateKey.BENCH, RateKey.COVER, RateKey.CONTAINER])
def test_batches_are_joined_by_primary_key_only(session: Session, key: RateKey) -> None:
    plan = explained(session, RateQuestion(by=(RateKey.GENUS, key)))
    assert "SEARCH batches USING INTEGER PRIMARY KEY" in plan
    assert "SCAN batches" not in plan


@pytest.mark.parametrize("key", list(RateKey))
@pytest.mark.parametrize("day_of", list(DayOf))
def test_the_statement_is_not_bound_to_one_database(
    session: Session, key: RateKey, day_of: DayOf
) -> None:
    question = RateQuestion(by=(key,), day_of=day_of)
    statement = sums_statement(
        question, conditions=conditions_of(session, question=question), correlation=0.12
    )
    sql = str(statement.compile(dialect=postgresql.dialect()))
    assert "counted_on - batch_facts.stuck_on" in sql
    assert "julianday" not in sql
    assert "STRFTIME" not in sql.upper()
