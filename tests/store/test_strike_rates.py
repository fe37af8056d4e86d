"""Rates through the query: every name, every filter, and sums as made by hand."""

import csv
from collections.abc import Iterator
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from sqlalchemy import update
from sqlalchemy.orm import Session

from app.domain.problems import NotAccepted
from app.domain.strike_rates import NO_FACTS, Basis, rate_of
from app.domain.strike_rates_keys import NOT_RECORDED, RateKey
from app.domain.strike_rates_questions import DayOf, RateFilter, RateQuestion, Restuck
from app.store.models.people import Person
from app.store.queries.strike_rates import (
    get_group_facts,
    get_rate_answer,
    list_batches_behind,
)
from app.store.queries.strike_rates_values import list_rate_values
from app.store.session import Database
from tests.conftest import NOW
from tests.domain.rate_batches import Counts, facts_of
from tests.store.rate_records import RateRecords

BARTLETT = Path(__file__).parent.parent / "data" / "bartlett_plum_root_cuttings.csv"
TEN = Counts(rooted=6, lost=4)


@pytest.fixture
def records(session: Session) -> RateRecords:
    return RateRecords(session=session)


def only(key: RateKey, value: str) -> RateFilter:
    return RateFilter(key=key, value=value)


def sizes(session: Session, question: RateQuestion) -> dict[tuple[str, ...], int]:
    answer = get_rate_answer(session, question=question)
    return {group.values: group.facts.every.stuck for group in answer.groups}


def bartlett_rows() -> Iterator[tuple[str, int, int, int]]:
    lines = BARTLETT.read_text(encoding="utf-8").splitlines()
    months = {"now": 10, "spring": 3}
    for row in csv.DictReader(line for line in lines if not line.startswith("#")):
        yield row["length"], months[row["time"]], int(row["alive"]), int(row["dead"])


def test_plum_root_cuttings_by_mix_and_month(session: Session, records: RateRecords) -> None:
    # Bartlett (1935) J. R. Statist. Soc. Suppl. 2:248-252, data of Hoblyn & Palmer (1934); Hand
    # et al. (1994) A Handbook of Small Data Sets no. 19. CONFIRMED. Length stands as two mixes,
    # planting now and in spring as October and March; alive is rooted, dead is lost.
    for length, month, alive, dead in bartlett_rows():
        records.add_batch(
            Counts(rooted=alive, lost=dead),
            plant="Prunus domestica",
            cutting_type="root",
            mix=f"{length} cuttings",
            stuck_on=date(2025 if month == 10 else 2026, month, 15),
        )
    answer = get_rate_answer(session, question=RateQuestion(by=(RateKey.MIX, RateKey.MONTH)))
    found = {
        group.values: (group.facts.every.stuck, round(100 * (group.square.strike_share or 0), 2))
        for group in answer.groups
    }
    assert found == {
        ("long cuttings", "3"): (240, 35.00),
        ("long cuttings", "10"): (240, 65.00),
        ("short cuttings", "3"): (240, 12.92),
        ("short cuttings", "10"): (240, 44.58),
    }
    assert answer.total.every.stuck == 960
    assert [row.facts.every.rooted for row in answer.rows] == [240, 138]


def test_no_batches_give_an_empty_answer(session: Session) -> None:
    answer = get_rate_answer(session, question=RateQuestion(by=(RateKey.GENUS,)))
    assert answer.groups == ()
    assert answer.total == NO_FACTS
    assert get_group_facts(session, question=RateQuestion()) == NO_FACTS


@pytest.mark.parametrize(
    ("key", "recorded", "value"),
    [
        (RateKey.GENUS, {"plant": "Cistus purpureus"}, "Cistus"),
        (RateKey.PLANT, {"plant": "Cistus purpureus"}, "Cistus purpureus"),
        (
            RateKey.METHOD,
            {"cutting_type": "semi-ripe", "hormone": "IBA talc 1000 ppm"},
            "semi-ripe, IBA talc 1000 ppm",
        ),
        (RateKey.METHOD, {"hormone": "none"}, "softwood, no hormone"),
        (RateKey.METHOD, {"hormone": ""}, "softwood, hormone not recorded"),
        (
            RateKey.METHOD,
            {"cutting_type": "", "hormone": "none"},
            "cutting type not recorded, no hormone",
        ),
        (RateKey.METHOD, {"cutting_type": "", "hormone": ""}, NOT_RECORDED),
        (RateKey.CUTTING_TYPE, {"cutting_type": "leaf-bud"}, "leaf-bud"),
        (RateKey.CUTTING_TYPE, {"cutting_type": ""}, NOT_RECORDED),
        (RateKey.HORMONE, {"hormone": "iba talc 0.1 %"}, "IBA talc 1000 ppm"),
        (RateKey.HORMONE, {"hormone": "none"}, "no hormone"),
        (RateKey.HORMONE, {"hormone": ""}, NOT_RECORDED),
        (RateKey.MIX, {"mix": "Half and half"}, "Half and half"),
        (RateKey.MIX, {}, NOT_RECORDED),
        (RateKey.MONTH, {"stuck_on": date(2025, 11, 30)}, "11"),
        (RateKey.YEAR, {"stuck_on": date(2025, 11, 30)}, "2025"),
        (RateKey.PERSON, {"person": "Ines Farrow"}, "Ines Farrow"),
        (RateKey.PERSON, {}, NOT_RECORDED),
        (RateKey.BENCH, {"bench": "Mist bench 2"}, "Mist bench 2"),
        (RateKey.COVER, {"cover": "mist"}, "mist"),
        (RateKey.COVER, {}, NOT_RECORDED),
        (RateKey.BOTTOM_HEAT, {"bottom_heat_c": 20.0}, "20"),
        (RateKey.BOTTOM_HEAT, {"bottom_heat_c": 20.5}, "20.5"),
        (RateKey.BOTTOM_HEAT, {}, NOT_RECORDED),
        (RateKey.CONTAINER, {"container": "84 plugs"}, "84 plugs"),
        (RateKey.STOCK_PLANT, {"sources": ("S-0031",)}, "S-0031"),
        (RateKey.STOCK_PLANT, {"sources": ("bought in",)}, "bought in"),
        (RateKey.STOCK_PLANT, {}, NOT_RECORDED),
    ],
)
def test_every_name_groups_and_filters(
    session: Session, records: RateRecords, key: RateKey, recorded: dict[str, Any], value: str
) -> None:
    records.add_batch(TEN, **recorded)
    records.add_batch(
        Counts(rooted=1, lost=2),
        plant="Salix alba",
        cutting_type="hardwood",
        hormone="NAA gel 500 ppm",
        mix="Sharp sand",
        stuck_on=date(2024, 1, 5),
        person="Tomas Quill",
        bench="Frame",
        cover="glass",
        bottom_heat_c=7.0,
        container="Pot 9 cm",
        sources=("S-0002",),
    )
    found = sizes(session, RateQuestion(by=(key,)))
    assert found[(value,)] == 10
    assert sum(found.values()) == 13
    filtered = RateQuestion(by=(key,), where=(only(key, value),))
    assert sizes(session, filtered) == {(value,): 10}
    other = RateQuestion(by=(RateKey.YEAR,), where=(only(key, value.upper()),))
    assert sum(sizes(session, other).values()) == 10
    assert len(list_batches_behind(session, question=filtered, limit=9)) == 1


def test_two_names_that_share_a_register(session: Session, records: RateRecords) -> None:
    records.add_batch(TEN, hormone="IBA talc 1000 ppm")
    records.add_batch(TEN, hormone="none")
    found = sizes(session, RateQuestion(by=(RateKey.METHOD, RateKey.HORMONE)))
    assert found == {
        ("softwood, IBA talc 1000 ppm", "IBA talc 1000 ppm"): 10,
        ("softwood, no hormone", "no hormone"): 10,
    }


def test_filters_of_one_name_are_alternatives(session: Session, records: RateRecords) -> None:
    for plant in ("Hebe", "Cistus", "Salix"):
        for month in (4, 5):
            records.add_batch(TEN, plant=plant, stuck_on=date(2026, month, 1))
    where = (
        only(RateKey.GENUS, "Hebe"),
        only(RateKey.GENUS, "Cistus"),
        only(RateKey.MONTH, "May"),
    )
    found = sizes(session, RateQuestion(by=(RateKey.GENUS, RateKey.MONTH), where=where))
    assert found == {("Cistus", "5"): 10, ("Hebe", "5"): 10}


def test_days_are_inclusive(session: Session, records: RateRecords) -> None:
    for day in (1, 2, 3, 4):
        records.add_batch(TEN, stuck_on=date(2026, 4, day))
    question = RateQuestion(since=date(2026, 4, 2), until=date(2026, 4, 3))
    assert get_group_facts(session, question=question).every.batches == 2


def test_months_and_days_of_taking(session: Session, records: RateRecords) -> None:
    stored: dict[str, Any] = {"stuck_on": date(2026, 2, 20), "cutting_type": "hardwood"}
    records.add_batch(TEN, taken_on=date(2025, 12, 5), **stored)
    records.add_batch(TEN, taken_on=None, **stored)
    by_taking = RateQuestion(by=(RateKey.MONTH,), day_of=DayOf.TAKEN)
    assert sizes(session, by_taking) == {("12",): 10, (NOT_RECORDED,): 10}
    assert sizes(session, RateQuestion(by=(RateKey.MONTH,))) == {("2",): 20}
    years = RateQuestion(by=(RateKey.YEAR,), day_of=DayOf.TAKEN, until=date(2025, 12, 5))
    assert sizes(session, years) == {("2025",): 10}
    since = RateQuestion(day_of=DayOf.TAKEN, since=date(2025, 12, 6))
    assert get_group_facts(session, question=since) == NO_FACTS
    december = RateQuestion(where=(only(RateKey.MONTH, "12"),), day_of=DayOf.TAKEN)
    assert len(list_batches_behind(session, question=december, limit=9)) == 1


def test_voided_batches_count_nowhere(session: Session, records: RateRecords) -> None:
    records.add_batch(TEN)
    records.add_batch(TEN, voided=True)
    assert get_group_facts(session, question=RateQuestion()).every.batches == 1
    assert len(list_batches_behind(session, question=RateQuestion(), limit=9)) == 1


def test_batches_stuck_again_can_be_left_out(session: Session, records: RateRecords) -> None:
    first = records.add_batch(Counts(rooted=10))
    records.add_batch(Counts(rooted=4), restuck_from=first)
    question = RateQuestion(by=(RateKey.GENUS,), restuck=Restuck.WITHOUT)
    assert sizes(session, question) == {("Hebe",): 10}
    assert sizes(session, replace(question, restuck=Restuck.WITH)) == {("Hebe",): 14}


def test_one_persons_own_batches(session: Session, records: RateRecords) -> None:
    own = records.add_batch(TEN, person="Tomas Quill")
    records.add_batch(TEN, person="Ines Farrow")
    question = RateQuestion(by=(RateKey.PERSON,), only_person_id=own.stuck_by_id)
    assert sizes(session, question) == {("Tomas Quill",): 10}


def test_a_batch_from_two_plants_counts_in_both_and_once_in_all(
    session: Session, records: RateRecords
) -> None:
    records.add_batch(TEN, sources=("S-0031", "S-0032", "S-0031", "bought in"))
    records.add_batch(TEN, sources=("S-0032",))
    question = RateQuestion(by=(RateKey.GENUS, RateKey.STOCK_PLANT))
    answer = get_rate_answer(session, question=question)
    assert sizes(session, question) == {
        ("Hebe", "S-0031"): 10,
        ("Hebe", "S-0032"): 20,
        ("Hebe", "bought in"): 10,
    }
    assert [row.facts.every.stuck for row in answer.rows] == [20]
    assert answer.total.every.stuck == 20
    one = RateQuestion(by=(RateKey.STOCK_PLANT,), where=(only(RateKey.STOCK_PLANT, "S-0031"),))
    assert sizes(session, one) == {("S-0031",): 10}
    assert get_rate_answer(session, question=one).total.every.stuck == 10


@pytest.mark.parametrize(
    ("key", "value", "sentence"),
    [
        (RateKey.GENUS, "Hebbe", 'no genus "Hebbe" in the log. Did you mean "Hebe"?'),
        (RateKey.GENUS, "Quercus", 'no genus "Quercus" in the log.$'),
        (RateKey.CUTTING_TYPE, "softwod", 'Did you mean "softwood"'),
        (RateKey.COVER, "mist", 'no cover "mist"'),
        (RateKey.MONTH, "13", "month from 1 to 12"),
        (RateKey.MONTH, "ma", "month from 1 to 12"),
        (RateKey.YEAR, "last", "Give year as a number"),
        (RateKey.BOTTOM_HEAT, "warm", "Give bottom heat as a number"),
        (RateKey.METHOD, "softwood", "cutting type, comma, hormone"),
        (RateKey.METHOD, "softwood, IBA", 'no method "IBA"'),
        (RateKey.HORMONE, "IBA talc 900 ppm", 'no hormone "IBA talc 900 ppm"'),
        (RateKey.STOCK_PLANT, "S-0001", 'no stock plant "S-0001"'),
    ],
)
def test_unknown_values_are_refused_in_words(
    session: Session, records: RateRecords, key: RateKey, value: str, sentence: str
) -> None:
    records.add_batch(TEN)
    with pytest.raises(NotAccepted, match=sentence) as refused:
        get_rate_answer(session, question=RateQuestion(where=(only(key, value),)))
    assert refused.value.problems[0].field == key.value


def test_the_landmark_day_is_counted_in_calendar_days(
    session: Session, records: RateRecords
) -> None:
    # Across both changes of clock of 2026 in Europe: days are days of the calendar.
    for stuck_on in (date(2026, 3, 1), date(2026, 9, 20)):
        young = Counts(rooted=3, unrooted=7, counted_at=62)
        records.add_batch(young, stuck_on=stuck_on, mix="young")
        records.add_batch(replace(young, counted_at=63), stuck_on=stuck_on, mix="old")
        records.add_batch(replace(young, counted_at=None), stuck_on=stuck_on, mix="unseen")
    answer = get_rate_answer(session, question=RateQuestion(by=(RateKey.MIX,)))
    assert {group.values[0]: group.square.basis for group in answer.groups} == {
        "old": Basis.LANDMARK,
        "unseen": Basis.BOUNDS,
        "young": Basis.BOUNDS,
    }


COUNTS = st.builds(
    Counts,
    rooted=st.integers(0, 300),
    lost=st.integers(0, 60),
    dumped=st.integers(0, 20),
    cleared_unrooted=st.sampled_from([0, 0, 5]),
    unrooted=st.sampled_from([0, 0, 40]),
    counted_at=st.one_of(st.none(), st.integers(55, 70)),
).filter(lambda counts: counts.stuck > 0)


@settings(max_examples=25, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.lists(COUNTS, min_size=1, max_size=8))
def test_the_sums_of_sql_are_those_made_by_hand(database: Database, batches: list[Counts]) -> None:
    session = database.open_session(write=True)
    try:
        records = RateRecords(session=session)
        for counts in batches:
            records.add_batch(counts)
        facts, expected = get_group_facts(session, question=RateQuestion()), facts_of(batches)
    finally:
        session.close()
    assert facts.too_young == expected.too_young
    for name in ("batches", "stuck", "rooted", "lost", "dumped", "cleared_unrooted", "unrooted"):
        assert getattr(facts.every, name) == getattr(expected.every, name)
        assert getattr(facts.finished, name) == getattr(expected.finished, name)
    for name in ("effective_cuttings", "effective_rooted", "effective_unknown"):
        assert getattr(facts.every, name) == pytest.approx(getattr(expected.every, name))
        assert getattr(facts.finished, name) == pytest.approx(getattr(expected.finished, name))
    assert rate_of(facts).basis is rate_of(expected).basis


def test_another_correlation_changes_only_the_weight(
    session: Session, records: RateRecords
) -> None:
    records.add_batch(Counts(rooted=20, lost=10))
    separate = get_rate_answer(session, question=RateQuestion(by=(RateKey.GENUS,)), correlation=0)
    assert separate.total.every.effective_cuttings == pytest.approx(30.0)
    assert separate.total.every.share == pytest.approx(2 / 3)


def test_values_to_choose_from(session: Session, records: RateRecords) -> None:
    records.add_batch(TEN, bench="Mist bench 2", person="Somebody", hormone="none")
    records.add_batch(TEN, bench="Cold frame A", person="Erased")
    session.execute(update(Person).where(Person.name == "Erased").values(erased_at=NOW))
    assert list_rate_values(session, key=RateKey.BENCH) == ("Cold frame A", "Mist bench 2")
    assert "no hormone" in list_rate_values(session, key=RateKey.HORMONE)
    people = list_rate_values(session, key=RateKey.PERSON)
    assert "Somebody" in people
    assert "Erased" not in people
    assert list_rate_values(session, key=RateKey.COVER) == ()


def test_the_batches_behind_come_newest_first_in_pages(
    session: Session, records: RateRecords
) -> None:
    for day in (3, 9, 5):
        records.add_batch(TEN, stuck_on=date(2026, 4, day))
    records.add_batch(TEN, plant="Cistus", stuck_on=date(2026, 4, 30))
    question = RateQuestion(by=(RateKey.GENUS,), where=(only(RateKey.GENUS, "Hebe"),))
    days = [
        batch.stuck_on.day
        for skip in (0, 2)
        for batch in list_batches_behind(session, question=question, limit=2, skip=skip)
    ]
    assert days == [9, 5, 3]
    (first, *_) = list_batches_behind(session, question=question, limit=1)
    assert (first.code, first.plant, first.stuck, first.rooted, first.lost) == (
        "26-0002",
        "Hebe 'Invented'",
        10,
        6,
        4,
    )
