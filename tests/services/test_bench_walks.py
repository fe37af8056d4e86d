"""Walking a bench logs a look at every open batch there but those excepted, and can be undone."""

from datetime import timedelta

import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session

from app.domain.outcomes import CheckKind, Ending
from app.domain.people import Actor
from app.domain.problems import NotAccepted, NotAllowed, NotFound
from app.services.bench_walks import BenchWalk, undo_walk, walk_bench
from app.store.models.history import HistoryLine
from app.store.queries.checks import list_checks
from tests.conftest import NOW, TODAY
from tests.services.batch_records import add_bench, add_plant
from tests.services.check_records import Stuck, check, day, facts, said, stick


@pytest.fixture
def bench(session: Session) -> int:
    return add_bench(session)


@pytest.fixture
def batches(session: Session, head: Actor, bench: int) -> list[Stuck]:
    """Two batches on the bench, one cleared there, one stuck today, one on no bench."""
    plant = add_plant(session)
    first, second, cleared = (stick(session, head, plant=plant, bench_id=bench) for _ in range(3))
    check(session, head, cleared, said(7, ending=Ending.DUMPED))
    young = stick(session, head, plant=plant, bench_id=bench, stuck_on=TODAY)
    elsewhere = stick(session, head, plant=plant)
    return [first, second, cleared, young, elsewhere]


def walk(
    session: Session, actor: Actor, bench: int, *, but: tuple[int, ...] = (), days: int = 0
) -> BenchWalk:
    return walk_bench(
        session,
        actor=actor,
        today=TODAY,
        now=NOW,
        bench_id=bench,
        walked_on=day(days),
        except_batch_ids=but,
    )


def test_a_walk_looks_at_what_stands_open_there(
    session: Session, trainee: Actor, bench: int, batches: list[Stuck]
) -> None:
    first, second, cleared, young, elsewhere = batches
    walked = walk(session, trainee, bench, but=(second.id,), days=1)
    assert (walked.bench, walked.looked_at) == ("Mist bench 2", (first.code,))
    (look,) = list_checks(session, batch_id=first.id)
    assert look.counts.kind is CheckKind.LOOKED_ONLY
    assert (look.counts.checked_on, look.checked_by) == (day(1), trainee.name)
    assert facts(session, first).next_look_on == TODAY + timedelta(days=6)
    for untouched in (second, young, elsewhere):
        assert list_checks(session, batch_id=untouched.id) == ()
    assert len(list_checks(session, batch_id=cleared.id)) == 1


def test_a_walk_is_one_line_of_history(
    session: Session, head: Actor, bench: int, batches: list[Stuck]
) -> None:
    lines = session.scalars(select(HistoryLine)).all()
    walked = walk(session, head, bench)
    (new,) = session.scalars(select(HistoryLine)).all()[len(lines) :]
    assert new.what == "bench walked"
    assert new.subject == f"bench Mist bench 2, walk {walked.walk_key}"


def test_a_walk_can_be_undone_by_who_walked(
    session: Session, trainee: Actor, head: Actor, bench: int, batches: list[Stuck]
) -> None:
    first, second = batches[:2]
    before = facts(session, first)
    walked = walk(session, trainee, bench)
    with pytest.raises(NotAllowed):
        undo_walk(session, actor=head, now=NOW, walk_key=walked.walk_key)
    assert undo_walk(session, actor=trainee, now=NOW, walk_key=walked.walk_key) == 3
    assert facts(session, first) == before
    assert undo_walk(session, actor=trainee, now=NOW, walk_key=walked.walk_key) == 0
    assert list_checks(session, batch_id=second.id)[0].counts.withdrawn


def test_a_walk_that_sees_nothing_is_refused(
    session: Session, head: Actor, bench: int, batches: list[Stuck]
) -> None:
    everything = tuple(batch.id for batch in batches)
    with pytest.raises(NotAccepted, match="nothing was logged"):
        walk(session, head, bench, but=everything)
    with pytest.raises(NotAccepted) as refused:
        walk(session, head, bench, days=-1)
    assert refused.value.problems[0].field == "walked_on"
    with pytest.raises(NotFound):
        walk(session, head, 99)
    for key in ("", "nobody"):
        with pytest.raises(NotFound):
            undo_walk(session, actor=head, now=NOW, walk_key=key)
