"""Which batches carry which label, and what the labels are called."""

from datetime import date

import pytest
from sqlalchemy.orm import Session

from app.domain.standouts_questions import StandoutBy, StandoutQuestion
from app.domain.strike_rates_questions import RateQuestion, Restuck
from app.store.queries.standouts import StandoutRecords, read_standouts
from tests.domain.rate_batches import Counts
from tests.services.batch_records import add_mix, add_mix_lot
from tests.store.rate_records import RateRecords

TEN = Counts(rooted=6, lost=4)


@pytest.fixture
def records(session: Session) -> RateRecords:
    return RateRecords(session=session)


def read(session: Session, by: StandoutBy, **asked: object) -> StandoutRecords:
    question = StandoutQuestion(by=by, asked=RateQuestion(**asked))  # type: ignore[arg-type]
    return read_standouts(session, question=question)


def carried(found: StandoutRecords) -> list[tuple[int, str]]:
    pairs = zip(found.labelled.rows, found.labelled.labels, strict=True)
    return [(int(row), found.names[int(label)]) for row, label in pairs]


def test_each_label_stands_by_its_batches(session: Session, records: RateRecords) -> None:
    records.add_batch(TEN, person="Ines Farrow", bench="Mist bench 2", mix="Bark")
    records.add_batch(TEN, person="", bench="Open bench")
    records.add_batch(TEN, person="Tomas Quill", mix="Bark")
    people = read(session, StandoutBy.PERSON)
    assert people.batches.count == 3
    assert carried(people) == [(0, "Ines Farrow"), (2, "Tomas Quill")]
    assert carried(read(session, StandoutBy.BENCH)) == [(0, "Mist bench 2"), (1, "Open bench")]
    assert carried(read(session, StandoutBy.MIX)) == [(0, "Bark"), (2, "Bark")]


def test_a_batch_stands_by_each_of_its_stock_plants(session: Session, records: RateRecords) -> None:
    records.add_batch(TEN, sources=("S-0031", "S-0032"))
    records.add_batch(TEN, sources=("bought in",))
    records.add_batch(TEN, sources=("S-0032",))
    found = read(session, StandoutBy.STOCK_PLANT)
    assert carried(found) == [(0, "S-0031"), (0, "S-0032"), (2, "S-0032")]


def test_mix_lots_stand_by_their_code(session: Session, records: RateRecords) -> None:
    (version,) = add_mix(session)
    batch = records.add_batch(TEN)
    batch.mix_lot_id = add_mix_lot(session, version, number=7)
    session.flush()
    assert carried(read(session, StandoutBy.MIX_LOT)) == [(0, "M-0007")]


def test_days_and_restuck_batches_are_left_out_as_asked(
    session: Session, records: RateRecords
) -> None:
    first = records.add_batch(TEN, person="Ines Farrow", stuck_on=date(2024, 1, 5))
    records.add_batch(TEN, person="Ines Farrow", stuck_on=date(2026, 1, 5), restuck_from=first)
    records.add_batch(TEN, person="Ines Farrow", stuck_on=date(2026, 2, 5), sources=("S-0031",))
    asked = {"since": date(2025, 1, 1), "restuck": Restuck.WITHOUT}
    assert carried(read(session, StandoutBy.PERSON, **asked)) == [(0, "Ines Farrow")]
    assert carried(read(session, StandoutBy.STOCK_PLANT, **asked)) == [(0, "S-0031")]


def test_nothing_logged_is_nothing_carried(session: Session) -> None:
    for by in StandoutBy:
        found = read(session, by)
        assert (found.batches.count, carried(found)) == (0, [])
