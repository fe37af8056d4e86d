"""The batches of two levels, read in one pass; and the levels there are to choose from."""

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date

import pytest
from sqlalchemy import event
from sqlalchemy.orm import Session

from app.domain.comparisons_questions import ComparisonQuestion, Factor
from app.domain.problems import NotAccepted
from app.domain.strike_rates_keys import RateKey
from app.domain.strike_rates_questions import RateFilter, RateQuestion, Restuck
from app.store.queries.comparisons import read_comparison
from app.store.queries.comparisons_levels import list_factor_levels
from tests.domain.rate_batches import Counts
from tests.store.rate_records import RateRecords

TEN = Counts(rooted=6, lost=4)
OPEN = Counts(rooted=5, lost=1, unrooted=3, cleared_unrooted=1, counted_at=40)


@pytest.fixture
def records(session: Session) -> RateRecords:
    return RateRecords(session=session)


def ask(factor: Factor, one: str, other: str, **asked: object) -> ComparisonQuestion:
    question = RateQuestion(**asked)  # type: ignore[arg-type]
    return ComparisonQuestion(factor=factor, one=one, other=other, asked=question)


@contextmanager
def counted(session: Session) -> Iterator[list[str]]:
    said: list[str] = []

    def note(_conn: object, _cursor: object, statement: str, *_rest: object) -> None:
        said.append(statement)

    event.listen(session.get_bind(), "before_cursor_execute", note)
    yield said
    event.remove(session.get_bind(), "before_cursor_execute", note)


def test_both_levels_come_as_parallel_arrays(session: Session, records: RateRecords) -> None:
    records.add_batch(TEN, hormone="IBA talc 1000 ppm", person="Ines Farrow")
    records.add_batch(OPEN, hormone="none", plant="Cistus purpureus", stuck_on=date(2026, 9, 1))
    records.add_batch(TEN, hormone="IBA talc 3000 ppm")
    records.add_batch(TEN, hormone="none", voided=True)
    question = ask(Factor.HORMONE, "IBA talc 1000 ppm", "no hormone")
    found = read_comparison(session, question=question)
    batches = found.batches
    assert found.members.tolist() == [[True, False], [False, True]]
    assert batches.stuck.tolist() == [10, 10]
    assert batches.rooted.tolist() == [6, 5]
    assert batches.unknown.tolist() == [0, 4]
    assert batches.month.tolist() == [4, 9]
    assert [found.genera[int(number)] for number in batches.genus] == ["Hebe", "Cistus"]
    assert found.people[int(batches.person[0])] == "Ines Farrow"
    assert batches.person[1] == 0
    assert set(found.hormones.values()) == {"IBA talc 1000 ppm", "no hormone"}


def test_the_batches_are_read_in_one_pass(session: Session, records: RateRecords) -> None:
    for place in range(6):
        records.add_batch(TEN, mix="Bark" if place % 2 else "Peat")
    with counted(session) as said:
        read_comparison(session, question=ask(Factor.MIX, "Bark", "Peat"))
    assert len([line for line in said if "batch_facts" in line]) == 1


def test_filters_hold_for_both_levels(session: Session, records: RateRecords) -> None:
    records.add_batch(TEN, cover="mist", plant="Hebe 'Invented'")
    records.add_batch(TEN, cover="fog", plant="Hebe 'Invented'")
    records.add_batch(TEN, cover="fog", plant="Cistus purpureus")
    first = records.add_batch(TEN, cover="fog", plant="Hebe 'Invented'")
    records.add_batch(TEN, cover="fog", plant="Hebe 'Invented'", restuck_from=first)
    where = (RateFilter(key=RateKey.GENUS, value="Hebe"),)
    question = ask(Factor.COVER, "mist", "fog", where=where, restuck=Restuck.WITHOUT)
    assert read_comparison(session, question=question).members.sum(axis=1).tolist() == [1, 2]


def test_a_season_is_the_batches_of_its_months(session: Session, records: RateRecords) -> None:
    for month in (3, 4, 6, 7):
        records.add_batch(TEN, stuck_on=date(2026, month, 10))
    question = ask(Factor.SEASON, "April to June", "July to September")
    found = read_comparison(session, question=question)
    assert found.batches.month.tolist() == [4, 6, 7]
    assert found.members.sum(axis=1).tolist() == [2, 1]


def test_a_batch_of_two_stock_plants_is_of_both(session: Session, records: RateRecords) -> None:
    records.add_batch(TEN, sources=("S-0031",))
    records.add_batch(TEN, sources=("S-0031", "S-0032"))
    records.add_batch(TEN, sources=("S-0032",))
    question = ask(Factor.STOCK_PLANT, "S-0031", "S-0032")
    found = read_comparison(session, question=question)
    assert found.members.tolist() == [[True, True, False], [False, True, True]]
    assert found.of_either(0, 1).tolist() == [True, False, True]


def test_further_levels_come_after_the_two(session: Session, records: RateRecords) -> None:
    for ppm in (1000, 3000, 8000):
        records.add_batch(TEN, hormone=f"IBA talc {ppm} ppm")
    question = ask(Factor.HORMONE, "IBA talc 3000 ppm", "IBA talc 1000 ppm")
    found = read_comparison(session, question=question, further=("IBA talc 8000 ppm",))
    assert found.members.sum(axis=1).tolist() == [1, 1, 1]
    assert found.batches.count == 3


@pytest.mark.parametrize(
    ("one", "other", "field"), [("Brak", "Peat", "one"), ("Peat", "Brak", "other")]
)
def test_an_unknown_level_is_refused_at_its_side(
    session: Session, records: RateRecords, one: str, other: str, field: str
) -> None:
    records.add_batch(TEN, mix="Bark")
    records.add_batch(TEN, mix="Peat")
    with pytest.raises(NotAccepted) as refused:
        read_comparison(session, question=ask(Factor.MIX, one, other))
    (problem,) = refused.value.problems
    assert problem.field == field
    assert problem.sentence == 'There is no mix "Brak" in the log. Did you mean "Bark"?'


def test_levels_are_listed_with_their_batches(session: Session, records: RateRecords) -> None:
    for mix in ("Peat", "Bark", "Peat", ""):
        records.add_batch(TEN, mix=mix)
    found = list_factor_levels(session, factor=Factor.MIX, asked=RateQuestion())
    assert [(level.value, level.batches) for level in found] == [
        ("Bark", 1),
        ("Peat", 2),
        ("not recorded", 1),
    ]
    narrowed = RateQuestion(where=(RateFilter(key=RateKey.MIX, value="Bark"),))
    assert len(list_factor_levels(session, factor=Factor.MIX, asked=narrowed)) == 3


def test_seasons_are_listed_where_they_have_batches(session: Session, records: RateRecords) -> None:
    for month in (1, 2, 11):
        records.add_batch(TEN, stuck_on=date(2026, month, 10))
    found = list_factor_levels(session, factor=Factor.SEASON, asked=RateQuestion())
    assert [(level.value, level.batches) for level in found] == [
        ("January to March", 2),
        ("October to December", 1),
    ]
