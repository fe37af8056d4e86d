"""Photographs of checks and stock plants: added, shown where they belong, withdrawn."""

import io
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import pytest
from sqlalchemy import delete
from sqlalchemy.exc import IntegrityError
from sqlalchemy.orm import Session

from app.domain.people import Actor
from app.domain.photographs import PhotographEntry, accepted_photograph, alternative_text
from app.domain.problems import ChangedMeanwhile, NotAccepted, NotAllowed, NotFound
from app.formats.pictures import draw_photograph
from app.services.batches import void_batch
from app.services.checks import withdraw_check
from app.services.photographs import (
    keep_photograph_files,
    photograph_faults,
    withdraw_photograph,
)
from app.store.models.photographs import Photograph
from app.store.photograph_files import photograph_path
from app.store.queries.history import list_history
from app.store.queries.photographs import (
    count_photographs,
    get_photograph,
    is_photograph_file,
    list_photograph_files,
    list_photographs,
    list_photographs_of_batch,
    list_photographs_of_check,
    list_photographs_of_stock_plant,
)
from tests.conftest import NOW, TODAY
from tests.formats.sent_pictures import noisy, saved
from tests.services.batch_records import add_plant, add_stock_plant, days_ago
from tests.services.check_records import check, said, stick
from tests.services.photograph_records import photograph


def _withdraw(session: Session, actor: Actor, number: int, **more: object) -> None:
    said_so = {"photograph_id": number, "version": 1, "reason": "another tray"} | more
    withdraw_photograph(session, actor=actor, today=TODAY, now=NOW, **said_so)  # type: ignore[arg-type]


def test_what_is_kept_of_a_photograph(session: Session, head: Actor, tmp_path: Path) -> None:
    batch = stick(session, head)
    looked = check(session, head, batch, said(1, rooted=3))
    number = photograph(
        session,
        head,
        tmp_path,
        check_id=looked.check_id,
        taken_by_id=2,
        taken_on=days_ago(1),
        caption="  roots at the   edge ",
    )
    kept = get_photograph(session, photograph_id=number)
    assert (kept.batch_code, kept.plant) == (batch.code, "Hebe 'Great Orme'")
    assert (kept.caption, kept.taken_by, kept.recorded_by) == (
        "roots at the edge",
        "Tomas Quill",
        "Ines Farrow",
    )
    assert kept.shows(TODAY) == f"Hebe 'Great Orme', batch {batch.code}, checked Tue 24 Nov"
    assert (kept.files.large.width, kept.files.small.width) == (400, 320)
    for file in (kept.files.large, kept.files.small):
        path = photograph_path(tmp_path, sha256=file.sha256)
        assert path.stat().st_size == file.size
        assert is_photograph_file(session, sha256=file.sha256)
    assert not is_photograph_file(session, sha256="0" * 64)
    (line,) = list_history(session, subject=kept.subject, zone="UTC")
    assert (line.what, line.changes) == ("photograph added", ())


def test_each_record_shows_its_own(session: Session, head: Actor, tmp_path: Path) -> None:
    batch = stick(session, head)
    first, second = (check(session, head, batch, said(day, rooted=1)) for day in (9, 4))
    stock = add_stock_plant(session, add_plant(session, "Salvia officinalis"))
    later = photograph(session, head, tmp_path, check_id=second.check_id)
    earlier = photograph(session, head, tmp_path, seed=2, check_id=first.check_id)
    of_stock = photograph(session, head, tmp_path, seed=3, stock_plant_id=stock)
    found = list_photographs_of_batch(session, batch_id=batch.id)
    assert [one.id for one in found] == [earlier, later]
    found = list_photographs_of_check(session, check_id=first.check_id)
    assert [one.id for one in found] == [earlier]
    (kept,) = list_photographs_of_stock_plant(session, stock_plant_id=stock)
    assert kept.id == of_stock
    assert kept.shows(TODAY) == "Salvia officinalis, stock plant S-0031, Wed 25 Nov"
    assert [one.id for one in list_photographs(session)] == [of_stock, earlier, later]
    assert [one.id for one in list_photographs(session, before=of_stock, limit=1)] == [earlier]
    assert count_photographs(session) == 3
    assert len(list_photograph_files(session)) == 6


def test_the_same_picture_twice_is_kept_once(session: Session, head: Actor, tmp_path: Path) -> None:
    looked = check(session, head, stick(session, head), said(1, rooted=3))
    for _ in range(2):
        photograph(session, head, tmp_path, check_id=looked.check_id)
    assert len(list(tmp_path.glob("*.jpg"))) == 2
    assert count_photographs(session) == 2


def test_a_wrong_one_is_withdrawn_with_a_reason(
    session: Session, head: Actor, tmp_path: Path
) -> None:
    batch = stick(session, head)
    looked = check(session, head, batch, said(1, rooted=3))
    number = photograph(session, head, tmp_path, check_id=looked.check_id)
    for reason, words in (("  ", "Say why"), ("x" * 501, "at most 500")):
        with pytest.raises(NotAccepted, match=words):
            _withdraw(session, head, number, reason=reason)
    with pytest.raises(ChangedMeanwhile):
        _withdraw(session, head, number, version=7)
    _withdraw(session, head, number)
    kept = get_photograph(session, photograph_id=number)
    assert (kept.withdraw_reason, kept.withdrawn_by) == ("another tray", "Ines Farrow")
    assert list_photographs_of_batch(session, batch_id=batch.id) == ()
    assert list_photographs_of_check(session, check_id=looked.check_id) == ()
    assert [one.id for one in list_photographs(session)] == [number]
    assert count_photographs(session) == 0
    # Its files stay: it is still shown on its own page.
    assert len(list_photograph_files(session)) == 2
    line = list_history(session, subject=kept.subject, zone="UTC")[0]
    assert line.what == "photograph withdrawn"
    with pytest.raises(NotAccepted, match="already"):
        _withdraw(session, head, number, version=2)
    with pytest.raises(NotFound):
        _withdraw(session, head, 99)


def test_who_may_withdraw_it(session: Session, head: Actor, trainee: Actor, tmp_path: Path) -> None:
    looked = check(session, head, stick(session, head), said(1, rooted=3))
    of_head = photograph(session, head, tmp_path, check_id=looked.check_id)
    own = photograph(session, trainee, tmp_path, check_id=looked.check_id)
    with pytest.raises(NotAllowed, match="Ask the head"):
        _withdraw(session, trainee, of_head)
    with pytest.raises(NotAllowed):
        withdraw_photograph(
            session,
            actor=trainee,
            today=TODAY + timedelta(days=2),
            now=NOW,
            photograph_id=own,
            version=1,
            reason="late",
        )
    _withdraw(session, trainee, own)
    _withdraw(session, head, of_head)


def test_nothing_is_added_to_what_counts_nowhere(
    session: Session, head: Actor, tmp_path: Path
) -> None:
    batch = stick(session, head)
    looked, other = (check(session, head, batch, said(day, rooted=3)) for day in (2, 1))
    number = photograph(session, head, tmp_path, check_id=looked.check_id)
    withdraw_check(
        session, actor=head, now=NOW, check_id=looked.check_id, version=1, reason="not this one"
    )
    # A photograph of a withdrawn check may well show another batch.
    assert list_photographs_of_batch(session, batch_id=batch.id) == ()
    assert get_photograph(session, photograph_id=number).check_withdrawn
    with pytest.raises(NotAccepted, match="check is withdrawn"):
        photograph(session, head, tmp_path, check_id=looked.check_id)
    void_batch(session, actor=head, today=TODAY, now=NOW, batch_id=batch.id, reason="twice")
    with pytest.raises(NotAccepted, match="batch is void"):
        photograph(session, head, tmp_path, check_id=other.check_id)
    for nowhere in ({"check_id": 99}, {"stock_plant_id": 99}, {}):
        with pytest.raises(NotFound):
            photograph(session, head, tmp_path, **nowhere)


def test_what_is_said_of_it_has_to_be_possible(
    session: Session, head: Actor, tmp_path: Path
) -> None:
    looked = check(session, head, stick(session, head), said(1, rooted=3))
    entry = PhotographEntry(check_id=looked.check_id, taken_on=TODAY)
    wrong = replace(entry, taken_on=TODAY + timedelta(days=1), caption="x" * 201)
    with pytest.raises(NotAccepted) as refused:
        accepted_photograph(wrong, today=TODAY)
    assert [problem.field for problem in refused.value.problems] == ["taken_on", "caption"]
    with pytest.raises(NotAccepted, match="Choose somebody"):
        photograph(session, head, tmp_path, check_id=looked.check_id, taken_by_id=99)


def test_what_it_shows_has_its_year_where_that_is_not_plain() -> None:
    said_so = alternative_text(
        plant="Hebe",
        batch_code="25-0147",
        checked_on=days_ago(400),
        stock_plant_code="",
        taken_on=TODAY,
        today=TODAY,
    )
    assert said_so == "Hebe, batch 25-0147, checked Tue 21 Oct 2025"


def test_the_database_holds_one_record_each_and_deletes_none(
    session: Session, head: Actor, tmp_path: Path
) -> None:
    looked = check(session, head, stick(session, head), said(1, rooted=3))
    number = photograph(session, head, tmp_path, check_id=looked.check_id)
    with pytest.raises(IntegrityError, match="never deleted"), session.begin_nested():
        session.execute(delete(Photograph).where(Photograph.id == number))
    row = session.get_one(Photograph, number)
    with pytest.raises(IntegrityError, match="of_one_record"), session.begin_nested():
        row.check_id = None
        session.flush()


def test_missing_and_changed_files_are_found(session: Session, head: Actor, tmp_path: Path) -> None:
    looked = check(session, head, stick(session, head), said(1, rooted=3))
    number = photograph(session, head, tmp_path, check_id=looked.check_id)
    assert list(photograph_faults(session, folder=tmp_path)) == []
    kept = get_photograph(session, photograph_id=number)
    photograph_path(tmp_path, sha256=kept.files.small.sha256).unlink()
    large = photograph_path(tmp_path, sha256=kept.files.large.sha256)
    large.write_bytes(large.read_bytes()[:-1])
    assert set(photograph_faults(session, folder=tmp_path)) == {
        (f"photograph {number}", f"Its file {kept.files.small.sha256}.jpg is missing."),
        (f"photograph {number}", f"Its file {kept.files.large.sha256}.jpg is not what was stored."),
    }


def test_a_full_disk_is_said_in_words(
    session: Session, head: Actor, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(_descriptor: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("os.fsync", full)
    drawn = draw_photograph(io.BytesIO(saved(noisy(64, 48))))
    with pytest.raises(NotAccepted, match="Make room") as refused:
        keep_photograph_files(tmp_path / "photographs", drawn=drawn)
    assert refused.value.problems[0].field == "picture"
    assert list((tmp_path / "photographs").iterdir()) == []
    assert count_photographs(session) == 0
