"""Pages of photographs: all of them, one large, its file, a new one, withdrawing one."""

from typing import Any, Final

from flask import Blueprint, Response, abort, render_template, request, send_file, url_for
from flask.typing import ResponseReturnValue
from sqlalchemy.orm import Session

from app.domain.permissions import Permission
from app.domain.photographs import (
    PhotographFiles,
    may_withdraw_photograph,
    refuse_foreign_photograph,
)
from app.domain.problems import NotAccepted
from app.services.photographs import add_photograph, keep_photograph_files, withdraw_photograph
from app.settings import PHOTOGRAPH_BYTES
from app.store.photograph_files import photograph_path
from app.store.queries.checks import get_check
from app.store.queries.history import list_history
from app.store.queries.people import list_person_names
from app.store.queries.photographs import (
    PAGE,
    KeptPhotograph,
    get_photograph,
    is_photograph_file,
    list_photographs,
    list_photographs_of_check,
    list_photographs_of_stock_plant,
)
from app.store.queries.stock_plants import get_stock_plant
from app.web.batch_filling import typed_day
from app.web.forms.photographs import ONCE_MORE, TOO_LARGE, PhotographForm, WithdrawForm
from app.web.look import ONE_YEAR
from app.web.permissions import allow
from app.web.protection import too_large, upload_limit
from app.web.requests import (
    actor,
    db,
    now,
    nursery,
    press,
    reading,
    running,
    status_of,
    submit,
    today,
    token_failed,
)
from app.web.results import Saved

blueprint = Blueprint("photographs", __name__)

UNDONE: Final = "taken back right after it was added"


@blueprint.route("/photographs")
@allow(Permission.READ)
def show_all() -> ResponseReturnValue:
    """Show all photographs, the last added first."""
    before = request.args.get("before", type=int)
    found = list_photographs(db(), before=before, limit=PAGE + 1)
    shown = found[:PAGE]
    return render_template(
        "photographs/list.html",
        photographs=shown,
        begun=before is not None,
        following=shown[-1].id if len(found) > PAGE else None,
        today=today(),
    )


@blueprint.route("/photographs/<int:photograph_id>")
@allow(Permission.READ)
def show(photograph_id: int) -> ResponseReturnValue:
    """Show a photograph large, with what is known of it."""
    kept = get_photograph(db(), photograph_id=photograph_id)
    may_withdraw = kept.withdrawn_at is None and may_withdraw_photograph(
        actor(), recorded_by_id=kept.recorded_by_id, made_on=kept.made_at.date(), today=today()
    )
    return render_template(
        "photographs/show.html",
        kept=kept,
        beside=_beside(kept),
        may_withdraw=may_withdraw,
        history=list_history(db(), subject=kept.subject, zone=nursery().zone),
        today=today(),
    )


@blueprint.route("/photographs/files/<sha256>.jpg")
@allow(Permission.READ)
def picture(sha256: str) -> ResponseReturnValue:
    """Send one file of a photograph; it never changes, so that a browser need not ask again."""
    path = photograph_path(running().settings.photographs, sha256=sha256)
    if not is_photograph_file(db(), sha256=sha256) or not path.is_file():
        abort(404, description="The file of this photograph is not there. Ask for a backup of it.")
    answer = send_file(path.absolute(), mimetype="image/jpeg", etag=sha256)
    # Private: no cache between the PC and the phone may show it to somebody not signed in.
    answer.headers["Cache-Control"] = f"private, max-age={ONE_YEAR}, immutable"
    return answer


@blueprint.route("/checks/<int:check_id>/photographs/new", methods=["GET", "POST"])
@upload_limit(PHOTOGRAPH_BYTES)
@allow(Permission.CHECK)
def of_check(check_id: int) -> ResponseReturnValue:
    """Add a photograph to a check."""
    with reading() as session:
        stored = get_check(session, check_id=check_id)
    form = _form(taken_on=typed_day(stored.counts.checked_on))
    here = url_for("checks.show", check_id=check_id)
    again = url_for("photographs.of_check", check_id=check_id)
    answer = _add(form, here=here, again=again, check_id=check_id)
    return answer or _new_page(form, here=here, stored=stored)


@blueprint.route("/stock-plants/<code>/photographs/new", methods=["GET", "POST"])
@upload_limit(PHOTOGRAPH_BYTES)
@allow(Permission.CHECK)
def of_stock_plant(code: str) -> ResponseReturnValue:
    """Add a photograph to a stock plant."""
    with reading() as session:
        known = get_stock_plant(session, code=code)
    form = _form(taken_on="today")
    here = url_for("stock_plants.show", code=known.code)
    again = url_for("photographs.of_stock_plant", code=known.code)
    answer = _add(form, here=here, again=again, stock_plant_id=known.id)
    return answer or _new_page(form, here=here, known=known)


@blueprint.route("/photographs/<int:photograph_id>/withdraw", methods=["GET", "POST"])
@allow(Permission.CORRECT_OWN)
def withdraw(photograph_id: int) -> ResponseReturnValue:
    """Take a photograph off its record, with a reason."""
    kept = get_photograph(db(), photograph_id=photograph_id)
    refuse_foreign_photograph(
        actor(), recorded_by_id=kept.recorded_by_id, made_on=kept.made_at.date(), today=today()
    )
    form = WithdrawForm(data={"version": kept.version})
    answer = submit(
        form,
        lambda session: _withdraw(
            session, kept, version=form.version.data, reason=form.reason.data or ""
        ),
    )
    return answer or (
        render_template("photographs/withdraw.html", form=form, kept=kept, today=today()),
        status_of(form),
    )


@blueprint.route("/photographs/<int:photograph_id>/undo", methods=["POST"])
@allow(Permission.CORRECT_OWN)
def undo(photograph_id: int) -> Response:
    """Take back a photograph that was just added."""
    kept = get_photograph(db(), photograph_id=photograph_id)
    return press(lambda session: _withdraw(session, kept, version=1, reason=UNDONE))


def _form(*, taken_on: str) -> PhotographForm:
    """Return the form; of what was too large to be read it holds nothing."""
    filled = {"taken_on": taken_on, "taken_by": str(actor().person_id)}
    form = (
        PhotographForm(formdata=None, data=filled) if too_large() else PhotographForm(data=filled)
    )
    with reading() as session:
        form.offer(list_person_names(session))
    return form


def _add(
    form: PhotographForm,
    *,
    here: str,
    again: str,
    check_id: int | None = None,
    stock_plant_id: int | None = None,
) -> Response | None:
    """Keep the picture sent, then save what is said of it; None where the page is shown again."""
    if too_large():
        form.refuse(TOO_LARGE, field="picture")
        return None
    files = _keep_files(form) if request.method == "POST" and not token_failed() else None

    def add(session: Session) -> Saved:
        if files is None:
            raise NotAccepted.at("picture", "Take or choose a photograph first.")
        photograph_id = add_photograph(
            session,
            actor=actor(),
            today=today(),
            now=now(),
            entry=form.entry(today=today(), check_id=check_id, stock_plant_id=stock_plant_id),
            files=files,
        )
        return Saved(
            location=here,
            message="The photograph is kept.",
            link=url_for("photographs.show", photograph_id=photograph_id),
            undo=url_for("photographs.undo", photograph_id=photograph_id),
            next=again,
            next_words="Another photograph",
        )

    answer = submit(form, add)
    if answer is None and files is not None and form.errors:
        form.refuse(ONCE_MORE, field="picture")
    return answer


def _keep_files(form: PhotographForm) -> PhotographFiles | None:
    """Return the picture sent as it is kept on disk, before anybody asks for the turn to write."""
    # Loaded only where a picture was sent: it is heavy, and most starts never need it.
    from app.formats.pictures import draw_photograph  # noqa: PLC0415 - see above

    sent = form.sent()
    if sent is None:
        return None
    name, stream = sent
    try:
        return keep_photograph_files(running().settings.photographs, drawn=draw_photograph(stream))
    except NotAccepted as refusal:
        for problem in refusal.problems:
            form.refuse(problem.sentence, field=name)
        return None


def _new_page(form: PhotographForm, *, here: str, **shown: Any) -> ResponseReturnValue:
    page = render_template("photographs/new.html", form=form, here=here, today=today(), **shown)
    return page, 413 if too_large() else status_of(form)


def _withdraw(session: Session, kept: KeptPhotograph, *, version: int, reason: str) -> Saved:
    withdraw_photograph(
        session,
        actor=actor(),
        today=today(),
        now=now(),
        photograph_id=kept.id,
        version=version,
        reason=reason,
    )
    if kept.check_id is not None:
        again = url_for("photographs.of_check", check_id=kept.check_id)
    else:
        again = url_for("photographs.of_stock_plant", code=kept.stock_plant_code)
    return Saved(
        location=url_for("photographs.show", photograph_id=kept.id),
        message="The photograph is withdrawn: it stays readable on its own page alone.",
        next=again,
        next_words="Another photograph",
    )


def _beside(kept: KeptPhotograph) -> tuple[KeptPhotograph, ...]:
    """Return the other photographs of the same record."""
    if kept.check_id is not None:
        found = list_photographs_of_check(db(), check_id=kept.check_id)
    else:
        known = get_stock_plant(db(), code=kept.stock_plant_code)
        found = list_photographs_of_stock_plant(db(), stock_plant_id=known.id)
    return tuple(one for one in found if one.id != kept.id)
