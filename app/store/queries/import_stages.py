"""Reading sheets that wait to be looked over, a page of their lines at a time."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Final

from sqlalchemy import Row, Select, String, cast, select
from sqlalchemy.orm import Session

from app.domain.problems import NotFound
from app.domain.sheet_lines import SheetLine
from app.store.models.import_stages import ImportStage, ImportStageLine
from app.store.models.people import Person

PAGE: Final = 50


@dataclass(frozen=True, kw_only=True)
class Stage:
    """A sheet that was read in. `counts` are its lines by state, `new_names` kinds and names."""

    id: int
    kind: str
    file_name: str
    reference: str
    state: str
    person: str
    made_at: datetime
    header: tuple[str, ...]
    counts: Mapping[str, int]
    new_names: tuple[tuple[str, tuple[str, ...]], ...]
    ignored: tuple[str, ...]
    minded: int
    outcome: str


@dataclass(frozen=True, kw_only=True)
class StageRemark:
    """A sentence about one cell of a line; its kind is wrong, minded or change."""

    column: str
    sentence: str
    kind: str


@dataclass(frozen=True, kw_only=True)
class StageLine:
    """A line of a sheet as it waits. `said` are the cells that say anything, under their heads."""

    number: int
    said: tuple[tuple[str, str], ...]
    remarks: tuple[StageRemark, ...]


@dataclass(frozen=True, kw_only=True)
class StagePage:
    """Some lines of a sheet; `following` is the line to go on after, None at the end."""

    lines: tuple[StageLine, ...]
    following: int | None


def get_stage(session: Session, *, stage_id: int) -> Stage:
    """Return a sheet that was read in.

    Raises:
        NotFound: there is none with this id.
    """
    row = session.execute(_stages().where(ImportStage.id == stage_id)).one_or_none()
    if row is None:
        raise NotFound("There is no such sheet.")
    return _stage(row)


def list_stages(session: Session, *, limit: int = 20) -> tuple[Stage, ...]:
    """Return the sheets read in last, the newest first."""
    rows = session.execute(_stages().order_by(ImportStage.id.desc()).limit(limit))
    return tuple(_stage(row) for row in rows)


def list_stage_lines(
    session: Session, *, stage_id: int, state: str = "", after: int = 0, minded: bool = False
) -> StagePage:
    """Return a page of lines in their order, of one state, or only those that want a look."""
    line = ImportStageLine
    query = (
        select(line.line, line.payload, line.problems)
        .where(line.import_stage_id == stage_id, line.line > after)
        .order_by(line.line)
        .limit(PAGE + 1)
    )
    if state:
        query = query.where(line.state == state)
    if minded:
        query = query.where(cast(line.problems, String).contains('"kind": "minded"'))
    rows = session.execute(query).all()
    header = get_stage(session, stage_id=stage_id).header
    lines = tuple(_line(row, header=header) for row in rows[:PAGE])
    return StagePage(lines=lines, following=lines[-1].number if len(rows) > PAGE else None)


def read_stage_sheet(session: Session, *, stage_id: int) -> tuple[SheetLine, ...]:
    """Return the sheet again as it was read, the header first."""
    stage = get_stage(session, stage_id=stage_id)
    query = (
        select(ImportStageLine.line, ImportStageLine.payload)
        .where(ImportStageLine.import_stage_id == stage_id)
        .order_by(ImportStageLine.line)
    )
    lines = (
        SheetLine(number=row.line, cells=tuple(row.payload["cells"]))
        for row in session.execute(query)
    )
    return (SheetLine(number=0, cells=stage.header), *lines)


def _stages() -> Select[*tuple[Any, ...]]:
    return select(*ImportStage.__table__.columns, Person.name.label("person")).outerjoin_from(
        ImportStage, Person, Person.id == ImportStage.person_id
    )


def _stage(row: Row[*tuple[Any, ...]]) -> Stage:
    summary = row.summary
    return Stage(
        id=row.id,
        kind=row.kind,
        file_name=row.file_name,
        reference=row.reference,
        state=row.state,
        person=row.person or "",
        made_at=row.made_at,
        header=tuple(summary.get("header", ())),
        counts=summary.get("counts", {}),
        new_names=tuple((kind, tuple(names)) for kind, names in summary.get("new_names", ())),
        ignored=tuple(summary.get("ignored", ())),
        minded=summary.get("minded", 0),
        outcome=summary.get("outcome", ""),
    )


def _line(row: Row[*tuple[Any, ...]], *, header: Sequence[str]) -> StageLine:
    cells = row.payload.get("cells", ())
    return StageLine(
        number=row.line,
        said=tuple(pair for pair in zip(header, cells, strict=False) if pair[1].strip()),
        remarks=tuple(
            StageRemark(column=said["column"], sentence=said["sentence"], kind=said["kind"])
            for said in row.problems
        ),
    )
