"""Pages of stages of liners: entering one, correcting it, withdrawing it, taking it back."""

from collections.abc import Sequence
from typing import Any, Final

from flask import Blueprint, Response, render_template, request, url_for
from flask.typing import ResponseReturnValue
from sqlalchemy.orm import Session

from app.domain.days import day_short
from app.domain.liner_stages import PARTLY, Stage, may_be_entered, stage_words
from app.domain.permissions import Permission
from app.domain.problems import NotFound
from app.services.liner_lots import record_stage
from app.services.liner_stages import correct_stage, record_batch_stage, withdraw_stages
from app.store.queries.batches import get_batch
from app.store.queries.liner_lots import KnownStage, get_liner_lot, get_stage, rooted_left
from app.web.batch_filling import typed_day
from app.web.forms.liner_lots import StageForm, StageWithdrawForm
from app.web.liner_reading import saved_stages, stage_form, words_of_stage
from app.web.permissions import allow
from app.web.requests import actor, db, now, press, status_of, submit, today
from app.web.results import Saved

blueprint = Blueprint("liner_stages", __name__)

UNDONE: Final = "taken back right after it was entered"
_OF_BATCH: Final = (Stage.WEANING, Stage.LOST)


@blueprint.route("/liner-lots/<code>/stages/new", methods=["GET", "POST"])
@allow(Permission.CHECK)
def create(code: str) -> ResponseReturnValue:
    """Enter a stage of a lot; ?stage= says which."""
    lot = get_liner_lot(db(), code=code)
    stage = _asked(may_be_entered(lot.standing))
    form = stage_form({"bench": "" if lot.bench_id is None else str(lot.bench_id)})

    def save(session: Session) -> Saved:
        entry = form.entry(stage, today=today())
        made = record_stage(
            session, actor=actor(), today=today(), now=now(), lot_id=lot.id, entry=entry
        )
        message = f"{made.lot_code}: {stage_words(stage, number=entry.number)}, "
        message += f"{day_short(entry.on, today=today())}."
        if made.stock_plant_code:
            message += f" They are stock plant {made.stock_plant_code} now."
        if made.lot_code != lot.code:
            message += f" They are a lot of their own now: label them {made.lot_code}."
        return saved_stages(made, message=message)

    answer = submit(form, save)
    return answer or _page(form, stage=stage, lot=lot, partly=stage in PARTLY)


@blueprint.route("/batches/<code>/after-rooting/new", methods=["GET", "POST"])
@allow(Permission.CHECK)
def create_of_batch(code: str) -> ResponseReturnValue:
    """Enter that weaning of a batch was begun, or losses before potting up; ?stage= says which."""
    batch = get_batch(db(), code=code)
    stage = _asked(_OF_BATCH)
    form = stage_form()

    def save(session: Session) -> Saved:
        entry = form.entry(stage, today=today())
        made = record_batch_stage(
            session, actor=actor(), today=today(), now=now(), batch_id=batch.id, entry=entry
        )
        return Saved(
            location=url_for("batches.show", code=batch.code),
            message=f"{batch.code}: {stage_words(stage, number=entry.number)}.",
            undo=url_for("liner_stages.undo", ids=str(made)),
        )

    left = rooted_left(db(), batch_id=batch.id)
    return submit(form, save) or _page(form, stage=stage, batch=batch, left=left)


@blueprint.route("/liner-stages/<int:stage_id>/correct", methods=["GET", "POST"])
@allow(Permission.CORRECT_OWN)
def correct(stage_id: int) -> ResponseReturnValue:
    """Put a stage right; the old one stays readable."""
    stored = get_stage(db(), stage_id=stage_id)
    form = stage_form(_typed(stored))
    _offer_kept(form, stored)

    def save(session: Session) -> Saved:
        correct_stage(
            session,
            actor=actor(),
            today=today(),
            now=now(),
            stage_id=stage_id,
            entry=form.entry(stored.stage, today=today()),
            reason=form.reason.data or "",
        )
        return Saved(location=_home(stored), message="Corrected; all sums are brought into step.")

    answer = submit(form, save)
    return answer or _page(form, stage=stored.stage, stored=stored, back=_home(stored))


@blueprint.route("/liner-stages/<int:stage_id>/withdraw", methods=["GET", "POST"])
@allow(Permission.CORRECT_OWN)
def withdraw(stage_id: int) -> ResponseReturnValue:
    """Take a stage out of the counts; it stays readable."""
    stored = get_stage(db(), stage_id=stage_id)
    form = StageWithdrawForm()

    def save(session: Session) -> Saved:
        _withdraw(session, [stage_id], form.reason.data or "")
        return Saved(location=_home(stored), message="Withdrawn; it counts nowhere now.")

    answer = submit(form, save)
    return answer or (
        render_template(
            "liner_stages/withdraw.html",
            form=form,
            stored=stored,
            words=words_of_stage(stored),
            back=_home(stored),
            today=today(),
        ),
        status_of(form),
    )


@blueprint.route("/liner-stages/undo/<ids>", methods=["POST"])
@allow(Permission.CORRECT_OWN)
def undo(ids: str) -> Response:
    """Take back what was just entered."""
    parts = ids.split("-")
    if not all(part.isascii() and part.isdecimal() for part in parts):
        raise NotFound("There is no such stage of liners.")
    stage_ids = [int(part) for part in parts]
    stored = get_stage(db(), stage_id=stage_ids[0])

    def take_back(session: Session) -> Saved:
        _withdraw(session, stage_ids, UNDONE)
        return Saved(location=_home(stored), message="Taken back.")

    return press(take_back)


def _withdraw(session: Session, stage_ids: list[int], reason: str) -> None:
    withdraw_stages(
        session, actor=actor(), today=today(), now=now(), stage_ids=stage_ids, reason=reason
    )


def _asked(offered: Sequence[Stage]) -> Stage:
    typed = request.args.get("stage", "")
    for stage in offered:
        if stage.value == typed:
            return stage
    raise NotFound("This cannot be entered here. Go back to the lot and choose what happened.")


def _home(stored: KnownStage) -> str:
    if stored.lot:
        return url_for("liner_lots.show", code=stored.lot)
    return url_for("batches.show", code=stored.batch)


def _typed(stored: KnownStage) -> dict[str, Any]:
    def text(value: float | None) -> str:
        return "" if value is None else f"{value:.10g}"

    return {
        "on": typed_day(stored.on),
        "number": text(stored.number),
        "cause": text(stored.cause_id),
        "grade": stored.grade,
        "container": text(stored.container_id),
        "mix_lot": text(stored.mix_lot_id),
        "litres": text(stored.litres),
        "by": text(stored.person_id),
        "notes": stored.notes,
    }


def _offer_kept(form: StageForm, stored: KnownStage) -> None:
    """Offer what the stage names already, although it is in use no more."""
    named = {
        "container": (stored.container_id, stored.container),
        "mix_lot": (stored.mix_lot_id, stored.mix_lot),
        "cause": (stored.cause_id, stored.cause),
        "by": (stored.person_id, stored.by),
    }
    for name, (key, label) in named.items():
        if key is not None:
            form.offer_also(name, key=key, label=label)


def _page(form: StageForm, *, stage: Stage, **shown: Any) -> ResponseReturnValue:
    page = render_template(
        "liner_stages/edit.html",
        form=form,
        stage=stage,
        today=today(),
        **{"lot": None, "batch": None, "stored": None, "partly": False, "left": 0, "back": ""}
        | shown,
    )
    return page, status_of(form)
