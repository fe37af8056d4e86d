"""Sheets that were read in and wait to be looked over: kept on the server until written or not.

The lines of a sheet are kept as they were read and no longer than needed: they go once the sheet
is written or put aside, or has waited for a month.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from enum import StrEnum
from typing import Any, Final, cast

from sqlalchemy import Table, delete, insert, select
from sqlalchemy.orm import Session

from app.domain.notebook import LineRemark
from app.domain.notebook_comparison import LineState
from app.domain.people import Actor
from app.domain.problems import NotAccepted, NotFound
from app.domain.sheet_lines import SheetLine
from app.store.models.import_stages import ImportStage, ImportStageLine

NOTEBOOK: Final = "notebook"
KEPT_DAYS: Final = 30
_LINES: Final = cast("Table", ImportStageLine.__table__)


class StageState(StrEnum):
    """What became of a sheet."""

    WAITING = "waiting"
    WRITTEN = "written"
    PUT_ASIDE = "put aside"


@dataclass(frozen=True, kw_only=True)
class StagedFile:
    """The file a sheet came from; `reference` is the name of the notebook."""

    name: str
    sha256: str
    reference: str
    header: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class StagedLine:
    """One line as it was read, how it stands to the log, and what is said about it."""

    line: SheetLine
    state: LineState
    wrong: tuple[LineRemark, ...] = ()
    minded: tuple[LineRemark, ...] = ()
    changes: tuple[LineRemark, ...] = ()


def make_stage(
    session: Session,
    *,
    actor: Actor | None,
    now: datetime,
    file: StagedFile,
    summary: Mapping[str, Any],
    kind: str = NOTEBOOK,
) -> int:
    """Keep a sheet, its lines still to come, and return its id; lines kept too long are let go."""
    _forget_old_lines(session, now=now)
    stage = ImportStage(
        kind=kind,
        file_name=file.name,
        reference=file.reference,
        file_hash=file.sha256,
        person_id=actor.person_id if actor else None,
        made_at=now,
        summary={**summary, "header": list(file.header)},
    )
    session.add(stage)
    session.flush()
    return stage.id


def add_stage_lines(session: Session, *, stage_id: int, lines: Iterable[StagedLine]) -> None:
    """Keep lines of a sheet."""
    rows = [
        {
            "import_stage_id": stage_id,
            "line": staged.line.number,
            "state": staged.state.value,
            "payload": {"cells": list(staged.line.cells)},
            "problems": [
                *(_remark(remark, kind="wrong") for remark in staged.wrong),
                *(_remark(remark, kind="minded") for remark in staged.minded),
                *(_remark(remark, kind="change") for remark in staged.changes),
            ],
        }
        for staged in lines
    ]
    if rows:
        session.connection().execute(insert(_LINES), rows)


def renew_stage(
    session: Session,
    *,
    stage_id: int,
    reference: str,
    summary: Mapping[str, Any],
    lines: Iterable[StagedLine],
) -> None:
    """Put a newer comparison in the place of the one that was kept.

    Raises:
        NotFound: there is no such sheet.
        NotAccepted: it does not wait any more.
    """
    stage = waiting_stage(session, stage_id=stage_id)
    stage.reference = reference
    stage.summary = {**summary, "header": stage.summary["header"]}
    _forget_lines(session, stage_id)
    add_stage_lines(session, stage_id=stage_id, lines=lines)


def finish_stage(
    session: Session, *, stage_id: int, now: datetime, state: StageState, outcome: Mapping[str, Any]
) -> None:
    """Note what became of a waiting sheet and let go of its lines.

    Raises:
        NotFound: there is no such sheet.
        NotAccepted: it does not wait any more.
    """
    stage = waiting_stage(session, stage_id=stage_id)
    stage.state = state.value
    stage.written_at = now if state is StageState.WRITTEN else None
    stage.summary = {**stage.summary, **outcome}
    _forget_lines(session, stage_id)


def waiting_stage(session: Session, *, stage_id: int) -> ImportStage:
    """Return the row of a sheet that still waits.

    Raises:
        NotFound: there is no such sheet.
        NotAccepted: it was written or put aside.
    """
    stage = session.get(ImportStage, stage_id)
    if stage is None:
        raise NotFound("There is no such sheet. Read it in again.")
    if stage.state != StageState.WAITING:
        raise NotAccepted.at("", f"This sheet was {stage.state} already. Read it in again.")
    return stage


def _remark(remark: LineRemark, *, kind: str) -> dict[str, Any]:
    return {"column": remark.column, "sentence": remark.sentence, "kind": kind}


def _forget_lines(session: Session, stage_id: int) -> None:
    session.execute(delete(_LINES).where(_LINES.c.import_stage_id == stage_id))


def _forget_old_lines(session: Session, *, now: datetime) -> None:
    """Put aside what has waited too long: its lines hold names and notes of people."""
    query = select(ImportStage).where(
        ImportStage.state == StageState.WAITING,
        ImportStage.made_at < now - timedelta(days=KEPT_DAYS),
    )
    for stage in session.scalars(query):
        stage.state = StageState.PUT_ASIDE.value
        _forget_lines(session, stage.id)
