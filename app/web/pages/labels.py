"""Labels: which ones on what sheet, their PDF, a test print, and the address in their codes."""

from io import BytesIO
from typing import Final

from flask import Blueprint, Response, abort, redirect, render_template, request, send_file, url_for
from flask.typing import ResponseReturnValue
from sqlalchemy.orm import Session

from app.domain.label_sheets import SHEETS
from app.domain.permissions import Permission
from app.domain.problems import NotAccepted
from app.services.labels import set_label_address
from app.store.queries.labels import KINDS, LabelKind, get_label_address
from app.web.code_addresses import record_address
from app.web.forms.labels import OWN, OWN_FIELDS, LabelAddressForm, LabelsForm
from app.web.label_reading import (
    LabelBase,
    WantedLabels,
    fill_codes,
    label_base,
    read_labels,
    read_sheet,
)
from app.web.permissions import allow
from app.web.requests import actor, db, end_reading, now, running, status_of, submit, today
from app.web.results import Saved

blueprint = Blueprint("labels", __name__)

_PDF: Final = "application/pdf"
_MOST_SHOWN: Final = 60
_DRAWN_A_SECOND: Final = 200


@blueprint.route("/labels")
@allow(Permission.READ)
def show_first() -> ResponseReturnValue:
    """Go to the labels of batches."""
    return redirect(url_for("labels.choose", kind=next(iter(KINDS))), code=303)


@blueprint.route("/labels/<kind>")
@allow(Permission.READ)
def choose(kind: str) -> ResponseReturnValue:
    """Choose labels and a sheet, and see what they would say."""
    known = _known(kind)
    form = LabelsForm(request.args)
    fill_codes(form, db(), kind=known, day=today())
    base = label_base(db(), settings=running().settings)
    asked = bool((form.codes.data or "").strip())
    wanted = read_labels(form, db(), kind=known, base=base) if asked else None
    return _page(form, kind=known, base=base, wanted=wanted)


@blueprint.route("/labels/<kind>/print.pdf")
@allow(Permission.READ)
def write(kind: str) -> ResponseReturnValue:
    """Draw the labels; where something is wrong, the page says what."""
    known = _known(kind)
    form = LabelsForm(request.args)
    base = label_base(db(), settings=running().settings)
    wanted = read_labels(form, db(), kind=known, base=base)
    if wanted is None:
        return _page(form, kind=known, base=base, wanted=None)
    # Drawing takes seconds for a thousand: nothing of the log is held open meanwhile.
    end_reading()
    from app.formats.labels import write_labels  # noqa: PLC0415 - a start does not pay for it

    try:
        pdf = write_labels(wanted.labels, sheet=wanted.sheet, start=wanted.start)
    except NotAccepted as refusal:
        form.sheet.errors = [problem.sentence for problem in refusal.problems]
        return _page(form, kind=known, base=base, wanted=None)
    return _sent(pdf, name=f"labels {known.name} {today().isoformat()}.pdf")


@blueprint.route("/labels/<kind>/test-print.pdf")
@allow(Permission.READ)
def write_test(kind: str) -> ResponseReturnValue:
    """Draw a frame around each place of a sheet, with rulers, to hold against the labels."""
    form = LabelsForm(request.args)
    sheet = read_sheet(form)
    if sheet is None:
        base = label_base(db(), settings=running().settings)
        return _page(form, kind=_known(kind), base=base, wanted=None)
    from app.formats.label_rulers import write_test_print  # noqa: PLC0415 - as above

    return _sent(write_test_print(sheet), name=f"test print {sheet.name.replace(':', ',')}.pdf")


@blueprint.route("/labels/address", methods=["GET", "POST"])
@allow(Permission.KEEP_REGISTERS)
def edit_address() -> ResponseReturnValue:
    """Set the address that the codes on labels lead to."""
    known = get_label_address(db())
    form = LabelAddressForm(data={"address": known.address, "version": known.version})

    def save(session: Session) -> Saved:
        set_label_address(
            session,
            actor=actor(),
            now=now(),
            version=form.version.data,
            address=form.address.data or "",
        )
        return Saved(
            location=url_for("labels.edit_address"), message="The address on labels is saved."
        )

    answer = submit(form, save)
    if answer:
        return answer
    base = label_base(db(), settings=running().settings)
    return render_template("labels/address.html", form=form, base=base), status_of(form)


@blueprint.route("/to/<code>")
@allow(Permission.READ)
def follow(code: str) -> ResponseReturnValue:
    """Go from the code on a label to its record, or to the search where there is none."""
    address = record_address(db(), code)
    return redirect(address or url_for("search.show", q=code), code=303)


def _known(kind: str) -> LabelKind:
    if kind not in KINDS:
        abort(404)
    return KINDS[kind]


def _page(
    form: LabelsForm, *, kind: LabelKind, base: LabelBase, wanted: WantedLabels | None
) -> ResponseReturnValue:
    labels = wanted.labels if wanted else ()
    shown = render_template(
        "labels/choose.html",
        form=form,
        kind=kind,
        kinds=KINDS.values(),
        base=base,
        wanted=wanted,
        shown=labels[:_MOST_SHOWN],
        more=max(0, len(labels) - _MOST_SHOWN),
        seconds=-(-len(labels) // _DRAWN_A_SECOND),
        own=form.sheet.data == OWN,
        own_fields=[form[name] for name in OWN_FIELDS],
        sheets=SHEETS,
    )
    return shown, 422 if form.errors else 200


def _sent(pdf: bytes, *, name: str) -> Response:
    return send_file(BytesIO(pdf), mimetype=_PDF, as_attachment=True, download_name=name)
