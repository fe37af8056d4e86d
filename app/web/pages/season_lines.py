"""The season's board: what is to be stuck in which week, planned and overruled by hand."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby
from urllib.parse import urlencode

from flask import Blueprint, render_template, request, url_for
from flask.typing import ResponseReturnValue
from sqlalchemy.orm import Session

from app.domain.days import iso_week
from app.domain.orders import order_name
from app.domain.permissions import Permission
from app.domain.season_lines import SeasonLineKept
from app.services.season_lines import (
    add_season_line,
    correct_season_line,
    fix_season_line,
    keep_season_plan,
    put_back_season_line,
    remove_season_line,
)
from app.store.queries.orders import list_open_orders
from app.store.queries.season_lines import (
    find_last_plan,
    get_season_line,
    list_season_lines,
)
from app.web.forms.season_lines import SeasonLineForm, SeasonPlanForm
from app.web.permissions import allow
from app.web.requests import actor, db, now, press, status_of, submit, today
from app.web.results import Saved
from app.web.season_reading import fixed_lines, read_season, room_of

blueprint = Blueprint("season_lines", __name__, url_prefix="/plan/board")


@dataclass(frozen=True, kw_only=True)
class BoardWeek:
    """A week of the board with its lines; `prepare` is the address of its preparing sheet."""

    name: str
    lines: tuple[SeasonLineKept, ...]
    prepare: str


@blueprint.route("")
@allow(Permission.READ)
def show() -> ResponseReturnValue:
    """Show the board by week, what is not on it yet, and the limits that it does not keep."""
    return _page(SeasonPlanForm(formdata=None))


@blueprint.route("/keep", methods=["POST"])
@allow(Permission.KEEP_ORDERS)
def keep() -> ResponseReturnValue:
    """Put a plan that was shown on the board; what is fixed stays."""
    form = SeasonPlanForm()

    def save(session: Session) -> Saved:
        keep_season_plan(
            session,
            actor=actor(),
            today=today(),
            now=now(),
            planned=form.planned(),
            seen_at=form.seen_at(),
        )
        return _back("The plan is on the board; what was fixed stayed.")

    return submit(form, save) or _page(form)


@blueprint.route("/new", methods=["GET", "POST"])
@allow(Permission.KEEP_ORDERS)
def create() -> ResponseReturnValue:
    """Put a line on the board by hand."""
    form = SeasonLineForm(data={"version": 1, "order": request.args.get("order", "")})
    form.offer(list_open_orders(db()))

    def add(session: Session) -> Saved:
        entry = form.entry(today=today())
        line_id = add_season_line(session, actor=actor(), today=today(), now=now(), entry=entry)
        return Saved(
            location=url_for("season_lines.show"),
            message=f"{entry.cuttings:,} cuttings for {order_name(entry.order_number)} stand in "
            f"{iso_week(entry.week_on)}, fixed.",
            undo=url_for("season_lines.remove", line_id=line_id),
        )

    answer = submit(form, add)
    return answer or (
        render_template("season_lines/edit.html", form=form, line=None),
        status_of(form),
    )


@blueprint.route("/<int:line_id>/edit", methods=["GET", "POST"])
@allow(Permission.KEEP_ORDERS)
def edit(line_id: int) -> ResponseReturnValue:
    """Move a line to another week or change its number; it is fixed from then on."""
    line = get_season_line(db(), line_id=line_id)
    form = SeasonLineForm(
        data={
            "week": line.week,
            "cuttings": str(line.entry.cuttings),
            "note": line.entry.note,
            "version": line.version,
        }
    )

    def correct(session: Session) -> Saved:
        correct_season_line(
            session,
            actor=actor(),
            today=today(),
            now=now(),
            line_id=line_id,
            version=form.version.data,
            entry=form.entry(today=today(), order_number=line.entry.order_number),
        )
        return _back(f"The line for {line.order} is saved and fixed.")

    answer = submit(form, correct)
    return answer or (
        render_template("season_lines/edit.html", form=form, line=line),
        status_of(form),
    )


@blueprint.route("/<int:line_id>/fix", methods=["POST"])
@allow(Permission.KEEP_ORDERS)
def fix(line_id: int) -> ResponseReturnValue:
    """Fix a line."""
    return _set_fixed(line_id, fixed=True)


@blueprint.route("/<int:line_id>/let-go", methods=["POST"])
@allow(Permission.KEEP_ORDERS)
def let_go(line_id: int) -> ResponseReturnValue:
    """Let a fixed line go."""
    return _set_fixed(line_id, fixed=False)


@blueprint.route("/<int:line_id>/remove", methods=["POST"])
@allow(Permission.KEEP_ORDERS)
def remove(line_id: int) -> ResponseReturnValue:
    """Take a line off the board."""

    def save(session: Session) -> Saved:
        entry = remove_season_line(session, actor=actor(), now=now(), line_id=line_id)
        return Saved(
            location=url_for("season_lines.show"),
            message=f"{entry.cuttings:,} cuttings for {order_name(entry.order_number)} are off "
            "the board.",
            undo=url_for("season_lines.put_back", line_id=line_id),
        )

    return press(save)


@blueprint.route("/<int:line_id>/put-back", methods=["POST"])
@allow(Permission.KEEP_ORDERS)
def put_back(line_id: int) -> ResponseReturnValue:
    """Put a line back that was just taken off; it is fixed by that."""

    def save(session: Session) -> Saved:
        entry = put_back_season_line(
            session, actor=actor(), today=today(), now=now(), line_id=line_id
        )
        return _back(f"The line for {order_name(entry.order_number)} is back, fixed.")

    return press(save)


def _page(form: SeasonPlanForm) -> ResponseReturnValue:
    from app.domain.season_answers import judge_lines  # noqa: PLC0415 - loads numpy

    last = find_last_plan(db())
    kept = list_season_lines(db())
    to_come = [line for line in kept if not line.is_past(today())]
    season = read_season(**room_of(last))
    lines = fixed_lines(to_come)
    short, broken = judge_lines(season.wishes, lines=lines, room=season.room, today=today())
    page = render_template(
        "season_lines/list.html",
        form=form,
        weeks=_weeks(to_come),
        past=[line for line in kept if line.is_past(today())],
        cuttings=sum(line.entry.cuttings for line in to_come),
        batches=len(to_come),
        short=short,
        unknown=any(line.limit for line in short),
        broken=broken,
        last=last,
        room={name: value for name, value in room_of(last).items() if value is not None},
        any_orders=bool(season.wishes),
        today=today(),
    )
    return page, status_of(form)


def _weeks(lines: Sequence[SeasonLineKept]) -> list[BoardWeek]:
    return [
        BoardWeek(name=name, lines=(these := tuple(found)), prepare=_prepare(name, these))
        for name, found in groupby(lines, key=lambda line: line.week)
    ]


def _prepare(week: str, lines: Sequence[SeasonLineKept]) -> str:
    typed = {"title": week}
    for number, line in enumerate(lines):
        typed[f"lines-{number}-plant"] = line.plant
        typed[f"lines-{number}-cuttings"] = str(line.entry.cuttings)
    return f"{url_for('preparing_sheets.show')}?{urlencode(typed)}"


def _set_fixed(line_id: int, *, fixed: bool) -> ResponseReturnValue:
    def save(session: Session) -> Saved:
        fix_season_line(session, actor=actor(), now=now(), line_id=line_id, fixed=fixed)
        if fixed:
            return _back("The line is fixed: it stays when the season is planned again.")
        return _back("The line may be planned anew.")

    return press(save)


def _back(message: str) -> Saved:
    return Saved(location=url_for("season_lines.show"), message=message)
