"""Pages of plant passports: the list, one as issued, issuing, voiding, what they have in common."""

from io import BytesIO
from typing import Any, Final

from flask import Blueprint, abort, render_template, request, send_file, url_for
from flask.typing import ResponseReturnValue
from sqlalchemy.orm import Session

from app.domain.permissions import Permission
from app.domain.plant_passports import AUTHORITY, C_MAY_BE_BLANK, kept_until, usual_origin
from app.domain.problems import NotAccepted
from app.services.plant_passports import issue_passport, set_passport_settings, void_passport
from app.store.queries.batches import BatchStory, get_batch
from app.store.queries.history import list_history
from app.store.queries.plant_passports import (
    KnownPassport,
    get_passport,
    get_passport_settings,
    list_passports,
)
from app.web.forms.plant_passports import (
    PassportForm,
    PassportLabelsForm,
    PassportSettingsForm,
    VoidPassportForm,
)
from app.web.permissions import allow
from app.web.requests import actor, db, end_reading, now, nursery, status_of, submit, today
from app.web.results import Saved

blueprint = Blueprint("plant_passports", __name__, url_prefix="/plant-passports")

PAGE: Final = 50


@blueprint.route("")
@allow(Permission.READ)
def show_all() -> ResponseReturnValue:
    """List the passports that were issued, the newest first."""
    before = request.args.get("before", type=int)
    found = list_passports(db(), before=before, limit=PAGE + 1)
    settings, _ = get_passport_settings(db())
    more = found[PAGE - 1].number if len(found) > PAGE else None
    return render_template(
        "plant_passports/list.html",
        passports=found[:PAGE],
        settings=settings,
        authority=AUTHORITY,
        older=url_for("plant_passports.show_all", before=more) if more else None,
        newest=url_for("plant_passports.show_all") if before else None,
        today=today(),
    )


@blueprint.route("/settings", methods=["GET", "POST"])
@allow(Permission.KEEP_PEOPLE)
def settings() -> ResponseReturnValue:
    """Set what passports have in common; without an operator number none is issued."""
    known, version = get_passport_settings(db())
    form = PassportSettingsForm(
        data={
            "territory": known.territory.value,
            "operator_number": known.operator_number,
            "member_state": known.member_state,
            "own_title": known.own_title,
            "version": version,
        }
    )

    def save(session: Session) -> Saved:
        set_passport_settings(
            session, actor=actor(), now=now(), version=form.version.data, settings=form.entry()
        )
        return Saved(
            location=url_for("plant_passports.show_all"), message="The settings are saved."
        )

    answer = submit(form, save)
    return answer or (
        render_template("plant_passports/settings.html", form=form, authority=AUTHORITY),
        status_of(form),
    )


@blueprint.route("/new", methods=["GET", "POST"])
@allow(Permission.KEEP_REGISTERS)
def create() -> ResponseReturnValue:
    """Issue a passport for plants of a batch, also in place of a void one."""
    batch = get_batch(db(), code=request.args.get("batch", ""))
    known, _ = get_passport_settings(db())
    replaced = _replaced()
    form = PassportForm(data=_starting(batch, replaced, origin=usual_origin(known)))

    def save(session: Session) -> Saved:
        issued = issue_passport(
            session,
            actor=actor(),
            today=today(),
            now=now(),
            batch_id=batch.id,
            entry=form.entry(),
            replaces_id=replaced.id if replaced else None,
        )
        return Saved(
            location=url_for("plant_passports.show", code=issued.code),
            message=f"{issued.code} is issued: it is never changed, only voided.",
        )

    answer = submit(form, save)
    return answer or (
        render_template(
            "plant_passports/new.html",
            form=form,
            batch=batch,
            settings=known,
            replaced=replaced,
            authority=AUTHORITY,
            c_may_be_blank=C_MAY_BE_BLANK,
        ),
        status_of(form),
    )


@blueprint.route("/<code>")
@allow(Permission.READ)
def show(code: str) -> ResponseReturnValue:
    """Show a passport as it was issued."""
    return _page(get_passport(db(), code=code), form=PassportLabelsForm())


def _page(known: KnownPassport, *, form: PassportLabelsForm) -> str:
    return render_template(
        "plant_passports/show.html",
        form=form,
        known=known,
        kept_until=kept_until(known.issued_on),
        authority=AUTHORITY,
        history=list_history(db(), subject=f"plant passport {known.code}", zone=nursery().zone),
        today=today(),
    )


@blueprint.route("/<code>/labels.pdf")
@allow(Permission.READ)
def labels(code: str) -> ResponseReturnValue:
    """Draw the labels of a passport that holds, on the sheet chosen."""
    known = get_passport(db(), code=code)
    if known.voided_at is not None:
        abort(404, description=f"{known.code} is void: no labels are printed of it.")
    form = PassportLabelsForm(request.args)
    end_reading()
    from app.formats.passport_labels import (  # noqa: PLC0415 - a start does not pay for it
        write_passport_labels,
    )

    try:
        sheet, start = form.place()
        pdf = write_passport_labels(known.content, number=known.labels, sheet=sheet, start=start)
    except NotAccepted as refusal:
        for problem in refusal.problems:
            form[problem.field].errors = [problem.sentence]
        return _page(known, form=form), 422
    name = f"plant passport {known.code}.pdf"
    return send_file(
        BytesIO(pdf), mimetype="application/pdf", as_attachment=True, download_name=name
    )


@blueprint.route("/<code>/void", methods=["GET", "POST"])
@allow(Permission.KEEP_REGISTERS)
def void(code: str) -> ResponseReturnValue:
    """Void a passport, with a reason; it stays as it was issued."""
    known = get_passport(db(), code=code)
    form = VoidPassportForm()

    def save(session: Session) -> Saved:
        reason = form.reason.data or ""
        void_passport(session, actor=actor(), now=now(), passport_id=known.id, reason=reason)
        return Saved(
            location=url_for("plant_passports.show", code=known.code),
            message=f"{known.code} is void; it stays in the log.",
            next=url_for("plant_passports.create", batch=known.batch, again=known.code),
            next_words="Issue it again, put right",
        )

    answer = submit(form, save)
    return answer or (
        render_template("plant_passports/void.html", form=form, known=known),
        status_of(form),
    )


def _replaced() -> KnownPassport | None:
    code = request.args.get("again", "")
    return get_passport(db(), code=code) if code else None


def _starting(batch: BatchStory, replaced: KnownPassport | None, *, origin: str) -> dict[str, Any]:
    if replaced is None:
        return {
            "plant": batch.plant,
            "traceability_code": batch.code,
            "origin": origin,
            "labels": "1",
        }
    content = replaced.content
    return {
        "plant": content.a,
        "traceability_code": content.c,
        "blank_reason": replaced.blank_reason,
        "origin": content.d,
        "northern_ireland": bool(content.e),
        "plants": str(replaced.plants),
        "labels": str(replaced.labels),
        "note": replaced.note,
    }
