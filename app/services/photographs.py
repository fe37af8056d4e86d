"""Photographs: keeping the files, adding one to a check or a stock plant, withdrawing it."""

from collections.abc import Iterator
from dataclasses import asdict
from datetime import date, datetime
from io import BytesIO
from pathlib import Path
from typing import TYPE_CHECKING, Final

from sqlalchemy.orm import Session

from app.domain.people import Actor
from app.domain.photographs import (
    PhotographEntry,
    PhotographFiles,
    PictureFile,
    accepted_photograph,
    refuse_foreign_photograph,
)
from app.domain.problems import ChangedMeanwhile, NotAccepted, NotFound
from app.domain.reasons import accepted_reason
from app.services.history import JsonValue, record_change
from app.store.models.batches import Batch
from app.store.models.checks import Check
from app.store.models.people import Person
from app.store.models.photographs import Photograph
from app.store.models.stock_plants import StockPlant
from app.store.photograph_files import faulty_files, put_photograph_file
from app.store.queries.photographs import list_photographs_by_file, photograph_subject

if TYPE_CHECKING:
    # Drawing pictures is loaded only where one is sent.
    from app.formats.pictures import DrawnPhotograph, DrawnPicture

_WHY: Final = "Say why it is withdrawn, such as: it shows another batch."


def keep_photograph_files(folder: Path, *, drawn: "DrawnPhotograph") -> PhotographFiles:
    """Put both sizes of a photograph on disk and return what they are named.

    Done before the log is asked for its turn to write, so that no entry ever names a file that is
    not there.

    Raises:
        NotAccepted: the disk did not take them.
    """
    try:
        return PhotographFiles(large=_put(folder, drawn.large), small=_put(folder, drawn.small))
    except OSError as error:
        sentence = (
            "The disk of this PC did not take the photograph: it may be full. Make room, then save "
            "again."
        )
        raise NotAccepted.at("picture", sentence) from error


def add_photograph(
    session: Session,
    *,
    actor: Actor,
    today: date,
    now: datetime,
    entry: PhotographEntry,
    files: PhotographFiles,
) -> int:
    """Add a photograph whose files are on disk to its record and return its number.

    Raises:
        NotAccepted: the day or the caption cannot be, or the record counts nowhere any more.
        NotFound: there is no such check or stock plant.
    """
    entry = accepted_photograph(entry, today=today)
    _refuse_odd_record(session, entry)
    if entry.taken_by_id is not None and session.get(Person, entry.taken_by_id) is None:
        raise NotAccepted.at("taken_by", "Choose somebody from the list.")
    row = Photograph(
        check_id=entry.check_id,
        stock_plant_id=entry.stock_plant_id,
        **asdict(files.large),
        **{f"small_{name}": value for name, value in asdict(files.small).items()},
        taken_on=entry.taken_on,
        taken_by_id=entry.taken_by_id,
        caption=entry.caption,
        recorded_by_id=actor.person_id,
        made_at=now,
    )
    session.add(row)
    session.flush()
    _write(session, actor=actor, now=now, what="photograph added", photograph_id=row.id, change={})
    return row.id


def withdraw_photograph(
    session: Session,
    *,
    actor: Actor,
    today: date,
    now: datetime,
    photograph_id: int,
    version: int,
    reason: str,
) -> None:
    """Take a photograph off its record; it stays readable on its own page.

    Raises:
        NotAccepted: no reason is given, or it is withdrawn already.
        NotAllowed: it is somebody else's, or an own one of long ago.
        ChangedMeanwhile: somebody else saved it after `version` was read.
        NotFound: there is no such photograph.
    """
    row = session.get(Photograph, photograph_id)
    if row is None:
        raise NotFound("There is no such photograph.")
    refuse_foreign_photograph(
        actor, recorded_by_id=row.recorded_by_id, made_on=row.made_at.date(), today=today
    )
    if row.withdrawn_at is not None:
        raise NotAccepted.at("reason", "This photograph is withdrawn already.")
    tidy = accepted_reason(reason, missing=_WHY)
    if row.version != version:
        raise ChangedMeanwhile(version=row.version)
    row.withdrawn_at, row.withdrawn_by_id, row.withdraw_reason = now, actor.person_id, tidy
    session.flush()
    change: dict[str, JsonValue] = {"withdrawn": [False, True], "reason": [None, tidy]}
    what = "photograph withdrawn"
    _write(session, actor=actor, now=now, what=what, photograph_id=row.id, change=change)


def photograph_faults(session: Session, *, folder: Path) -> Iterator[tuple[str, str]]:
    """Yield (record, sentence) for every file that is missing or is not what was stored."""
    by_file = list_photographs_by_file(session)
    for name, sentence in faulty_files(by_file, folder=folder):
        for photograph_id in by_file[name]:
            yield photograph_subject(photograph_id), sentence


def _put(folder: Path, picture: "DrawnPicture") -> PictureFile:
    file = picture.file
    put_photograph_file(folder, content=BytesIO(picture.content), sha256=file.sha256)
    return file


def _refuse_odd_record(session: Session, entry: PhotographEntry) -> None:
    if entry.stock_plant_id is not None:
        if session.get(StockPlant, entry.stock_plant_id) is None:
            raise NotFound("There is no such stock plant.")
        return
    check = session.get(Check, entry.check_id) if entry.check_id is not None else None
    if check is None:
        raise NotFound("There is no such check.")
    batch = session.get_one(Batch, check.batch_id)
    if check.withdrawn or batch.voided_at is not None:
        what = "check is withdrawn" if check.withdrawn else "batch is void"
        raise NotAccepted.at("", f"This {what} and counts nowhere: nothing can be added to it.")


def _write(
    session: Session,
    *,
    actor: Actor,
    now: datetime,
    what: str,
    photograph_id: int,
    change: dict[str, JsonValue],
) -> None:
    subject = photograph_subject(photograph_id)
    record_change(session, actor=actor, now=now, what=what, subject=subject, change=change)
