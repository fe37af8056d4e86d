"""Pages of rounds on paper: the sheets, a new one, one to print, and typing it in."""

from dataclasses import replace
from typing import Final, cast

from flask import Blueprint, Response, redirect, render_template, request, url_for
from flask.typing import ResponseReturnValue
from sqlalchemy.orm import Session

from app.domain.check_words import found_words
from app.domain.permissions import Permission
from app.domain.problems import NotAccepted, Problem
from app.domain.round_sheets import LinesEntry
from app.services.round_sheets import TypedIn, print_round_sheet, type_in_lines
from app.store.queries.benches import list_benches
from app.store.queries.people import list_person_names
from app.store.queries.round_sheets import (
    PAGE,
    KnownSheet,
    get_round_sheet,
    list_round_sheets,
)
from app.store.queries.today import list_round
from app.web.batch_filling import typed_day
from app.web.forms.round_sheets import RoundSheetForm, SheetLinesForm, lines_form
from app.web.permissions import allow
from app.web.requests import (
    OPEN_TOO_LONG,
    actor,
    database,
    db,
    now,
    reading,
    status_of,
    submit,
    today,
    token_failed,
)
from app.web.results import Saved, announce

blueprint = Blueprint("round_sheets", __name__, url_prefix="/round-sheets")

LINES_AT_ONCE: Final = 5
NOTHING_TYPED: Final = (
    "Nothing was typed in. Type what was found, or tick looked; a blank line stays open."
)


@blueprint.route("")
@allow(Permission.READ)
def show_all() -> ResponseReturnValue:
    """List the sheets, the last printed first, with what is still to be typed in."""
    before = request.args.get("before", type=int)
    found = list_round_sheets(db(), before=before, limit=PAGE + 1)
    shown = found[:PAGE]
    return render_template(
        "round_sheets/list.html",
        sheets=shown,
        begun=before is not None,
        following=shown[-1].number if len(found) > PAGE else None,
        today=today(),
    )


@blueprint.route("/new", methods=["GET", "POST"])
@allow(Permission.CHECK)
def create() -> ResponseReturnValue:
    """Fix what is late or due as a sheet to be printed."""
    form = RoundSheetForm(data={"bench": request.args.get("bench", "")})
    with reading() as session:
        form.offer(bench for bench in list_benches(session) if not bench.closed)
        due = list_round(session, on=today())

    def add(session: Session) -> Saved:
        number = print_round_sheet(
            session, actor=actor(), today=today(), now=now(), bench_id=form.bench_id()
        )
        return Saved(
            location=url_for("round_sheets.show", number=number),
            message=f"Round sheet {number} is fixed: print this page.",
        )

    answer = submit(form, add)
    return answer or (
        render_template("round_sheets/new.html", form=form, number=len(due), today=today()),
        status_of(form),
    )


@blueprint.route("/<int:number>")
@allow(Permission.READ)
def show(number: int) -> ResponseReturnValue:
    """Show a sheet as it is printed, with boxes to write in."""
    sheet = get_round_sheet(db(), number=number)
    return render_template("round_sheets/show.html", sheet=sheet, today=today())


@blueprint.route("/<int:number>/entry", methods=["GET", "POST"])
@allow(Permission.CHECK)
def type_in(number: int) -> ResponseReturnValue:
    """Type a sheet in by the keyboard, in the order of its lines."""
    sheet = _read(number)
    form = lines_form(
        sheet.lines, checked_on=typed_day(sheet.head.listed_on), checked_by=actor().person_id
    )
    with reading() as session:
        form.offer(list_person_names(session))
    stored = 0
    if request.method == "POST":
        outcome = _type_in(sheet, form)
        if outcome is not None and not form.errors:
            return _done(number, outcome)
        stored = outcome.stored if outcome is not None else 0
        sheet = _read(number)
    page = render_template(
        "round_sheets/entry.html",
        form=form,
        sheet=sheet,
        stored=stored,
        found_words=found_words,
        today=today(),
    )
    return page, status_of(form)


def _read(number: int) -> KnownSheet:
    """Return a sheet as it is now, read without asking for the turn to write."""
    with reading() as session:
        return get_round_sheet(session, number=number)


def _type_in(sheet: KnownSheet, form: SheetLinesForm) -> TypedIn | None:
    """Store the good lines, put what is wrong beside the others; None if nothing was tried.

    No key is kept with the form: a line that holds a check is not written again, so that a form
    arriving twice stores nothing twice, and its wrong lines are told again.
    """
    if token_failed():
        form.refuse(OPEN_TOO_LONG)
        return None
    try:
        positions = [line.position for line in sheet.lines]
        entry = form.entry(today=today(), positions=positions)
        if all(line.is_blank for line in entry.lines):
            raise NotAccepted.at("", NOTHING_TYPED)
        outcome = _store(sheet.head.number, entry)
    except NotAccepted as refusal:
        form.refuse_all(refusal)
        return None
    for problem in outcome.problems:
        form.refuse(problem.sentence, field=problem.field)
    return outcome


def _store(number: int, entry: LinesEntry) -> TypedIn:
    """Store the lines a few at a time, so that nobody else waits long for the turn to write."""
    typed = [line for line in entry.lines if not line.is_blank]
    stored, problems = 0, list[Problem]()
    for start in range(0, len(typed), LINES_AT_ONCE):
        some = replace(entry, lines=tuple(typed[start : start + LINES_AT_ONCE]))
        with database().writing() as session:
            done = type_in_lines(
                session, actor=actor(), today=today(), now=now(), number=number, entry=some
            )
        stored += done.stored
        problems += done.problems
    return TypedIn(stored=stored, problems=tuple(problems))


def _done(number: int, outcome: TypedIn) -> Response:
    """Say what is stored, and go on to what is left of the sheet, or to the sheet."""
    sheet = _read(number)
    left = sheet.head.left
    lines = "1 line is" if outcome.stored == 1 else f"{outcome.stored:,} lines are"
    rest = f"{left:,} left blank." if left else "The sheet is typed in."
    page = "round_sheets.type_in" if left else "round_sheets.show"
    location = url_for(page, number=number)
    link = url_for("round_sheets.show", number=number)
    message = f"Round sheet {number}: {lines} stored. {rest}"
    announce(Saved(location=location, link=link, message=message))
    return cast("Response", redirect(location, code=303))
