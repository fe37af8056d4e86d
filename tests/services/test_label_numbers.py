"""Labels printed ahead: reserved once, on one batch at a time."""

import pytest
from sqlalchemy.orm import Session

from app.domain.people import Actor
from app.domain.problems import NotAccepted
from app.services.batches import reinstate_batch, void_batch
from app.services.label_numbers import put_label_on, reserve_label_numbers, take_label_off
from app.store.queries.label_numbers import find_label_number, list_numbers_of_batch, list_runs
from tests.conftest import NOW, TODAY
from tests.services.batch_records import add_plant
from tests.services.check_records import Stuck, stick


@pytest.fixture
def plant(session: Session) -> int:
    return add_plant(session)


@pytest.fixture
def batch(session: Session, head: Actor, plant: int) -> Stuck:
    reserve_label_numbers(session, actor=head, now=NOW, number=10)
    return stick(session, head, plant=plant)


def put(session: Session, head: Actor, typed: str, code: str) -> str:
    return put_label_on(session, actor=head, now=NOW, typed=typed, batch_code=code)


def test_numbers_are_reserved_one_after_the_other_and_never_twice(
    session: Session, head: Actor
) -> None:
    kept = {"actor": head, "now": NOW}
    assert reserve_label_numbers(session, number=10, **kept) == ("N-0001", "N-0010")
    assert reserve_label_numbers(session, number=1, **kept) == ("N-0011", "N-0011")
    assert [(run.first, run.last, run.number, run.taken) for run in list_runs(session)] == [
        ("N-0011", "N-0011", 1, 0),
        ("N-0001", "N-0010", 10, 0),
    ]
    for number in (0, 3001):
        with pytest.raises(NotAccepted, match="from 1 to 3,000"):
            reserve_label_numbers(session, number=number, **kept)


@pytest.mark.parametrize("typed", ["N-0003", "n3", "N 3", " n-3 "])
def test_a_number_finds_the_batch_it_is_on(
    session: Session, head: Actor, batch: Stuck, typed: str
) -> None:
    assert put(session, head, typed, batch.code) == "N-0003"
    known = find_label_number(session, text="N-3")
    assert known is not None
    assert (known.batch, known.is_free) == (batch.code, False)
    assert list_numbers_of_batch(session, batch_id=batch.id) == ("N-0003",)
    # Said twice, it is still there once.
    assert put(session, head, typed, batch.code) == "N-0003"
    assert list_runs(session)[0].taken == 1


@pytest.mark.parametrize("typed", ["N-0011", "N-0000", "26-0001", "", "N-999999999"])
def test_a_number_that_was_never_reserved_is_refused(
    session: Session, head: Actor, batch: Stuck, typed: str
) -> None:
    with pytest.raises(NotAccepted) as refused:
        put(session, head, typed, batch.code)
    assert refused.value.problems[0].field == "tag"
    assert "look at the label again" in str(refused.value)


def test_a_number_is_on_one_batch_only(
    session: Session, head: Actor, batch: Stuck, plant: int
) -> None:
    put(session, head, "N-0001", batch.code)
    other = stick(session, head, plant=plant)
    with pytest.raises(NotAccepted, match=f"N-0001 is on batch {batch.code} already"):
        put(session, head, "N-0001", other.code)
    put(session, head, "N-0002", batch.code)
    assert list_numbers_of_batch(session, batch_id=batch.id) == ("N-0001", "N-0002")


def test_a_void_batch_gives_its_label_free(
    session: Session, head: Actor, batch: Stuck, plant: int
) -> None:
    put(session, head, "N-0001", batch.code)
    kept = {"actor": head, "today": TODAY, "now": NOW, "batch_id": batch.id}
    void_batch(session, reason="entered twice", **kept)  # type: ignore[arg-type]
    session.flush()
    known = find_label_number(session, text="N-0001")
    assert known is not None
    assert known.is_free
    with pytest.raises(NotAccepted, match="is void"):
        put(session, head, "N-0002", batch.code)
    again = stick(session, head, plant=plant)
    put(session, head, "N-0001", again.code)
    reinstate_batch(session, **kept)  # type: ignore[arg-type]
    session.flush()
    assert find_label_number(session, text="N-0001").batch == again.code  # type: ignore[union-attr]
    assert list_numbers_of_batch(session, batch_id=batch.id) == ()


def test_a_label_is_taken_off_and_put_on_another(
    session: Session, head: Actor, batch: Stuck, plant: int
) -> None:
    put(session, head, "N-0001", batch.code)
    other = stick(session, head, plant=plant)
    with pytest.raises(NotAccepted, match="is not on"):
        take_label_off(session, actor=head, now=NOW, typed="N-0001", batch_code=other.code)
    take_label_off(session, actor=head, now=NOW, typed="N-0001", batch_code=batch.code)
    assert put(session, head, "N-0001", other.code) == "N-0001"


def test_a_label_goes_on_no_batch_that_is_not_there(
    session: Session, head: Actor, batch: Stuck
) -> None:
    with pytest.raises(NotAccepted, match="There is no batch 26-0099"):
        put(session, head, "N-0001", "26-0099")
