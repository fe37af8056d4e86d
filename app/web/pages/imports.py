"""Pages of reading a sheet in: sending it, looking it over, writing it or putting it aside."""

import hashlib
from dataclasses import dataclass, replace
from typing import Final

from flask import Blueprint, flash, redirect, render_template, request, url_for
from flask.typing import ResponseReturnValue
from sqlalchemy.orm import Session

from app.domain.notebook_columns import COLUMNS
from app.domain.notebook_comparison import LineState
from app.domain.permissions import Permission
from app.domain.problems import NotAccepted
from app.domain.sheet_lines import SheetLine
from app.formats.sheets import PAGE_ROWS, read_sheet
from app.services.import_stages import (
    NOTEBOOK,
    StagedFile,
    StageState,
    add_stage_lines,
    finish_stage,
    make_stage,
    renew_stage,
    waiting_stage,
)
from app.services.notebook_imports import notebook_name
from app.services.notebook_stages import SheetComparison, staged_lines, summary_of
from app.services.sheet_imports import SheetImport, Writer, open_import
from app.services.sheet_kinds import SHEET_KINDS, kind_of_header
from app.settings import SHEET_BYTES
from app.store.queries.import_stages import (
    Stage,
    get_stage,
    list_stage_lines,
    list_stages,
    read_stage_sheet,
)
from app.web.forms.imports import ImportForm, ReferenceForm
from app.web.permissions import allow
from app.web.protection import upload_limit
from app.web.requests import (
    actor,
    database,
    db,
    now,
    press,
    status_of,
    submit,
    today,
    token_failed,
)
from app.web.results import Saved

blueprint = Blueprint("imports", __name__, url_prefix="/records/import")

MINDED: Final = "to look at"
_MEANWHILE: Final = (
    "The log was changed since this sheet was laid beside it. Look over what it would do now."
)


@dataclass(frozen=True, kw_only=True)
class _Prepared:
    """A sheet that was read and compared before anything asks for the turn to write.

    `differs` says that the log has changed since its lines were kept for looking over.
    """

    kind: str
    reference: str
    lines: tuple[SheetLine, ...]
    reading: SheetImport
    comparison: SheetComparison
    file: StagedFile | None = None
    differs: bool = False


@dataclass(frozen=True, kw_only=True)
class _Tab:
    """One kind of lines to look at: its name, how many there are, whether it is in sight."""

    name: str
    number: int
    chosen: bool


@blueprint.route("", methods=["GET", "POST"])
@upload_limit(SHEET_BYTES)
@allow(Permission.IMPORT)
def create() -> ResponseReturnValue:
    """Take a sheet, lay it beside the log, and lead to the page that shows what it would do."""
    form = ImportForm()
    prepared = None
    if request.method == "POST" and not token_failed():
        prepared = _prepare_upload(form)

    def stage(session: Session) -> Saved:
        if prepared is None or prepared.file is None:
            raise NotAccepted.at("sheet", "Choose the sheet first.")
        stage_id = make_stage(
            session,
            actor=actor(),
            now=now(),
            file=prepared.file,
            summary=summary_of(prepared.comparison),
            kind=prepared.kind,
        )
        staged = staged_lines(prepared.lines, comparison=prepared.comparison)
        add_stage_lines(session, stage_id=stage_id, lines=staged)
        return Saved(
            location=url_for("imports.show", stage_id=stage_id),
            message="The sheet was read. Nothing of it is written yet.",
        )

    answer = submit(form, stage)
    if answer is not None:
        return answer
    page = render_template(
        "imports/edit.html",
        form=form,
        stages=list_stages(db()),
        columns=COLUMNS,
        kinds=SHEET_KINDS,
        today=today(),
    )
    return page, status_of(form)


@blueprint.route("/<int:stage_id>")
@allow(Permission.IMPORT)
def show(stage_id: int) -> ResponseReturnValue:
    """Show what a sheet would do, a page of its lines at a time; or what became of it."""
    stage = get_stage(db(), stage_id=stage_id)
    tabs = _tabs(stage, wanted=request.args.get("show", ""))
    chosen = next((tab.name for tab in tabs if tab.chosen), "")
    after = request.args.get("after", 0, type=int)
    page = list_stage_lines(
        db(),
        stage_id=stage_id,
        state="" if chosen == MINDED else chosen,
        minded=chosen == MINDED,
        after=after,
    )
    return render_template(
        "imports/show.html",
        stage=stage,
        tabs=tabs,
        chosen=chosen,
        page=page,
        begun=after > 0,
        to_write=sum(stage.counts.get(state, 0) for state in (LineState.NEW, LineState.CHANGED)),
        wrong=stage.counts.get(LineState.WRONG, 0),
        form=ReferenceForm(reference=stage.reference),
        of_notebook=stage.kind == NOTEBOOK,
        today=today(),
    )


@blueprint.route("/<int:stage_id>/name", methods=["POST"])
@allow(Permission.IMPORT)
def rename(stage_id: int) -> ResponseReturnValue:
    """Lay the sheet beside the log under another name of the notebook."""
    reference = ReferenceForm().typed_reference()
    prepared = _prepare_again(stage_id, reference=reference)

    def renew(session: Session) -> Saved:
        if prepared is None:
            raise _does_not_wait(session, stage_id)
        _renew(session, stage_id, prepared)
        return Saved(
            location=url_for("imports.show", stage_id=stage_id),
            message=f"The notebook is called {prepared.reference} now.",
        )

    return press(renew)


@blueprint.route("/<int:stage_id>/write", methods=["POST"])
@allow(Permission.IMPORT)
def write(stage_id: int) -> ResponseReturnValue:
    """Write every line, or with `skip` those that are not wrong."""
    skip_wrong = request.form.get("skip") == "wrong"
    prepared = _prepare_again(stage_id)
    if prepared is not None and prepared.differs:
        return _look_again(stage_id, prepared)

    def write_all(session: Session) -> Saved:
        if prepared is None:
            raise _does_not_wait(session, stage_id)
        outcome = prepared.reading.write(session, writer=_writer(skip_wrong=skip_wrong))
        finish_stage(
            session,
            stage_id=stage_id,
            now=now(),
            state=StageState.WRITTEN,
            outcome={"outcome": outcome},
        )
        return Saved(location=url_for("imports.show", stage_id=stage_id), message=outcome)

    return press(write_all)


@blueprint.route("/<int:stage_id>/put-aside", methods=["POST"])
@allow(Permission.IMPORT)
def put_aside(stage_id: int) -> ResponseReturnValue:
    """Let go of a sheet; nothing of it is written."""

    def let_go(session: Session) -> Saved:
        finish_stage(session, stage_id=stage_id, now=now(), state=StageState.PUT_ASIDE, outcome={})
        return Saved(
            location=url_for("imports.create"),
            message="The sheet is put aside. Nothing of it was written.",
        )

    return press(let_go)


def _prepare_upload(form: ImportForm) -> _Prepared | None:
    """Return the sheet that was sent, compared; what is wrong with the file goes to its field.

    It is read here, before the turn to write is asked for, so that nobody waits for it.
    """
    sent = form.sheet.data
    if not sent or not sent.filename:
        form.refuse("Choose the sheet first.", field="sheet")
        return None
    data = sent.read(SHEET_BYTES + 1)
    sent.seek(0)
    if len(data) > SHEET_BYTES:
        form.refuse("This file is larger than 2 MB. Split the sheet.", field="sheet")
        return None
    try:
        lines = tuple(read_sheet(data, filename=sent.filename, row_limit=PAGE_ROWS))
        kind = kind_of_header(lines[0].cells)
        reference = form.typed_reference() or notebook_name(sent.filename)
        prepared = _compare(kind, lines, reference=reference)
    except NotAccepted as refusal:
        for problem in refusal.problems:
            form.refuse(problem.sentence, field="sheet")
        return None
    file = StagedFile(
        name=sent.filename,
        sha256=hashlib.sha256(data).hexdigest(),
        reference=reference,
        header=lines[0].cells,
    )
    return replace(prepared, file=file)


def _prepare_again(stage_id: int, *, reference: str = "") -> _Prepared | None:
    """Return a waiting sheet compared with the log as it is now; None if it does not wait."""
    if token_failed():
        return None
    with database().reading() as session:
        stage = get_stage(session, stage_id=stage_id)
        lines = read_stage_sheet(session, stage_id=stage_id)
    if stage.state != StageState.WAITING:
        return None
    prepared = _compare(stage.kind, lines, reference=reference or stage.reference)
    return replace(
        prepared, differs=summary_of(prepared.comparison)["counts"] != dict(stage.counts)
    )


def _compare(kind: str, lines: tuple[SheetLine, ...], *, reference: str) -> _Prepared:
    reading = open_import(kind, lines=lines, reference=reference, today=today())
    comparison = reading.compare(database(), writer=_writer(), progress=lambda _sentence: None)
    return _Prepared(
        kind=kind, reference=reference, lines=lines, reading=reading, comparison=comparison
    )


def _writer(*, skip_wrong: bool = False) -> Writer:
    return Writer(actor=actor(), today=today(), now=now(), skip_wrong=skip_wrong)


def _renew(session: Session, stage_id: int, prepared: _Prepared) -> None:
    renew_stage(
        session,
        stage_id=stage_id,
        reference=prepared.reference,
        summary=summary_of(prepared.comparison),
        lines=staged_lines(prepared.lines, comparison=prepared.comparison),
    )


def _look_again(stage_id: int, prepared: _Prepared) -> ResponseReturnValue:
    """Keep what the sheet would do now, and show it instead of writing it unseen."""
    with database().writing() as session:
        _renew(session, stage_id, prepared)
    flash(_MEANWHILE, "warning")
    return redirect(url_for("imports.show", stage_id=stage_id), code=303)


def _does_not_wait(session: Session, stage_id: int) -> NotAccepted:
    """Return why a sheet cannot be written any more."""
    try:
        waiting_stage(session, stage_id=stage_id)
    except NotAccepted as refusal:
        return refusal
    return NotAccepted.at("", "Press the button once more.")


def _tabs(stage: Stage, *, wanted: str) -> tuple[_Tab, ...]:
    """Return the kinds of lines there are, the chosen one marked: what is wrong comes first."""
    numbers = {
        LineState.WRONG.value: stage.counts.get(LineState.WRONG, 0),
        MINDED: stage.minded,
        LineState.CHANGED.value: stage.counts.get(LineState.CHANGED, 0),
        LineState.NEW.value: stage.counts.get(LineState.NEW, 0),
        LineState.SAME.value: stage.counts.get(LineState.SAME, 0),
    }
    there = {name: number for name, number in numbers.items() if number}
    chosen = wanted if wanted in there else next(iter(there), "")
    return tuple(
        _Tab(name=name, number=number, chosen=name == chosen) for name, number in there.items()
    )
