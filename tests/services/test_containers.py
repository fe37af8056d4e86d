"""Containers are added, corrected and retired, and no edit overwrites another."""

import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session

from app.domain.containers import ContainerEntry, ContainerKind
from app.domain.people import Actor
from app.domain.problems import ChangedMeanwhile, NotAccepted, NotFound
from app.services.containers import (
    add_container,
    correct_container,
    keep_container,
    load_starting_containers,
)
from app.store.models.history import HistoryLine
from app.store.queries.containers import get_container, list_containers
from tests.conftest import NOW

TRAY = ContainerEntry(name=" 60-plug  tray ", kind=ContainerKind.TRAY, plugs=60, volume_ml=40)


def test_a_container_is_kept_as_entered(session: Session, head: Actor) -> None:
    container_id = add_container(session, actor=head, now=NOW, entry=TRAY)
    known = get_container(session, container_id=container_id)
    assert (known.name, known.kind, known.plugs, known.volume_ml) == (
        "60-plug tray",
        "tray",
        60,
        40,
    )
    line = session.scalars(select(HistoryLine)).one()
    assert (line.what, line.subject, line.change) == (
        "container added",
        "container 60-plug tray",
        "{}",
    )


@pytest.mark.parametrize(
    ("entry", "field"),
    [
        (ContainerEntry(name=" ", kind=ContainerKind.POT), "name"),
        (ContainerEntry(name="x", kind=ContainerKind.POT, plugs=4), "plugs"),
        (ContainerEntry(name="x", kind=ContainerKind.TRAY, plugs=0), "plugs"),
        (ContainerEntry(name="x", kind=ContainerKind.TRAY, plugs=2_001), "plugs"),
        (ContainerEntry(name="x", kind=ContainerKind.POT, volume_ml=0), "volume_ml"),
    ],
)
def test_what_cannot_be_is_refused_by_its_field(
    session: Session, head: Actor, entry: ContainerEntry, field: str
) -> None:
    with pytest.raises(NotAccepted) as refused:
        add_container(session, actor=head, now=NOW, entry=entry)
    assert [problem.field for problem in refused.value.problems] == [field]


def test_two_of_one_name_are_refused(session: Session, head: Actor) -> None:
    add_container(session, actor=head, now=NOW, entry=TRAY)
    with pytest.raises(NotAccepted, match="already"):
        add_container(session, actor=head, now=NOW, entry=TRAY)


def test_a_correction_writes_what_was_before(session: Session, head: Actor) -> None:
    container_id = add_container(session, actor=head, now=NOW, entry=TRAY)
    bigger = ContainerEntry(name="60-plug tray", kind=ContainerKind.TRAY, plugs=72, volume_ml=40)
    for version in (1, 2):  # the second time nothing differs and nothing is written
        correct_container(
            session,
            actor=head,
            now=NOW,
            container_id=container_id,
            version=version,
            entry=bigger,
            retired=False,
        )
    changes = session.scalars(
        select(HistoryLine.change).where(HistoryLine.what == "container corrected")
    ).all()
    assert changes == ['{"plugs":[60,72]}']


def test_the_second_of_two_editors_is_told(session: Session, head: Actor) -> None:
    container_id = add_container(session, actor=head, now=NOW, entry=TRAY)
    common = {"actor": head, "now": NOW, "container_id": container_id, "version": 1}
    first = ContainerEntry(name="60-plug tray", kind=ContainerKind.TRAY, plugs=72, volume_ml=40)
    second = ContainerEntry(name="60-plug tray", kind=ContainerKind.TRAY, plugs=60, volume_ml=45)
    correct_container(session, entry=first, retired=False, **common)
    with pytest.raises(ChangedMeanwhile) as told:
        correct_container(session, entry=second, retired=False, **common)
    assert told.value.version == 2
    assert {(c.field, c.now, c.wanted) for c in told.value.changes} == {
        ("plugs", "72", "60"),
        ("volume_ml", "40.0", "45"),
    }


def test_a_retired_one_is_not_offered(session: Session, head: Actor) -> None:
    container_id = add_container(session, actor=head, now=NOW, entry=TRAY)
    correct_container(
        session,
        actor=head,
        now=NOW,
        container_id=container_id,
        version=1,
        entry=TRAY,
        retired=True,
    )
    assert list_containers(session) == ()
    assert [known.retired for known in list_containers(session, retired=True)] == [True]


def test_a_name_is_kept_once(session: Session) -> None:
    first = keep_container(session, actor=None, now=NOW, name="old  boxes")
    assert keep_container(session, actor=None, now=NOW, name="old boxes") == first


def test_the_starting_list_comes_once(session: Session) -> None:
    load_starting_containers(session, now=NOW)
    names = [known.name for known in list_containers(session)]
    load_starting_containers(session, now=NOW)
    assert [known.name for known in list_containers(session)] == names
    assert "84-plug tray" in names


def test_what_is_not_there_is_said(session: Session) -> None:
    with pytest.raises(NotFound):
        get_container(session, container_id=99)
