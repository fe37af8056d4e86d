"""Pages of liner lots: the list, one as its story, potting up, splitting, merging, its trays."""

from typing import Any

from flask import Blueprint, render_template, request, url_for
from flask.typing import ResponseReturnValue
from sqlalchemy.orm import Session

from app.domain.days import day_short
from app.domain.liner_stages import Stage, may_be_entered
from app.domain.permissions import Permission
from app.services.batch_moves import MoveMade
from app.services.liner_lots import correct_lot, merge_lots, pot_up, split_lot
from app.services.liner_moves import move_lot, undo_lot_move
from app.store.queries.batch_choices import list_batch_choices
from app.store.queries.batches import get_batch
from app.store.queries.bench_lots import list_lot_stays
from app.store.queries.bench_stands import get_bench_load
from app.store.queries.history import list_history
from app.store.queries.liner_lots import (
    KnownLot,
    LotsIn,
    LotsWanted,
    get_liner_lot,
    list_liner_lots,
    list_stages,
    rooted_left,
)
from app.store.queries.treatments import list_treatments_of_lot
from app.web.batch_filling import typed_day
from app.web.forms.batch_moves import BatchMoveForm, move_entry
from app.web.forms.liner_lots import LinerLotForm
from app.web.liner_reading import saved_stages, stage_form, told_stages
from app.web.permissions import allow, may
from app.web.reentries import reentry_warnings
from app.web.requests import actor, db, now, nursery, press, status_of, submit, today
from app.web.results import Saved

blueprint = Blueprint("liner_lots", __name__)

_PAGE = 100


@blueprint.route("/liner-lots")
@allow(Permission.READ)
def show_all() -> ResponseReturnValue:
    """List liner lots, the newest first; ?which=, ?find= and ?bench= say which."""
    typed = request.args.get("which", "")
    which = LotsIn(typed) if typed in set(LotsIn) else LotsIn.THERE
    text = " ".join(request.args.get("find", "").split())
    bench_id = request.args.get("bench", type=int)
    lots = list_liner_lots(
        db(),
        wanted=LotsWanted(which=which, text=text, bench_id=bench_id),
        after=request.args.get("after", type=int),
        limit=_PAGE + 1,
    )
    shown = lots[:_PAGE]
    following = None
    if len(lots) > _PAGE:
        after = int(shown[-1].code.partition("-")[2])
        asked: dict[str, Any] = {"which": which.value, "find": text or None, "bench": bench_id}
        following = url_for("liner_lots.show_all", **asked, after=after)
    return render_template(
        "liner_lots/list.html",
        lots=shown,
        which=which,
        kinds=list(LotsIn),
        text=text,
        bench_id=bench_id,
        benches=list_batch_choices(db()).benches,
        following=following,
        today=today(),
    )


@blueprint.route("/liner-lots/<code>")
@allow(Permission.READ)
def show(code: str) -> ResponseReturnValue:
    """Show a lot as its story: where it came from, its stages, where its plants went."""
    lot = get_liner_lot(db(), code=code)
    stages = list_stages(db(), lot_id=lot.id)
    treatments = list_treatments_of_lot(db(), lot_id=lot.id)
    entered = [
        stage
        for stage in may_be_entered(lot.standing)
        if stage is not Stage.KEPT or may(Permission.KEEP_REGISTERS)
    ]
    return render_template(
        "liner_lots/show.html",
        lot=lot,
        standing=lot.standing,
        told=told_stages(stages, lot_id=lot.id),
        parents=[one for one in stages if one.into == lot.code and one.lot and not one.withdrawn],
        children=[one for one in stages if one.lot == lot.code and one.into and not one.withdrawn],
        entered=entered,
        stays=list_lot_stays(db(), lot_id=lot.id),
        treatments=treatments,
        warnings=reentry_warnings(treatments),
        history=list_history(db(), subject=f"liner lot {lot.code}", zone=nursery().zone),
        today=today(),
    )


@blueprint.route("/batches/<code>/pot-up", methods=["GET", "POST"])
@allow(Permission.CHECK)
def create(code: str) -> ResponseReturnValue:
    """Pot up rooted ones of a batch as a liner lot."""
    batch = get_batch(db(), code=code)
    left = rooted_left(db(), batch_id=batch.id)
    form = stage_form({"number": str(left) if left else ""})

    def save(session: Session) -> Saved:
        entry = form.entry(Stage.POTTED_UP, today=today())
        made = pot_up(
            session, actor=actor(), today=today(), now=now(), batch_id=batch.id, entry=entry
        )
        message = f"{entry.number or 0:,} of {batch.code} are {made.lot_code} now: label them so."
        return saved_stages(made, message=message)

    answer = submit(form, save)
    return answer or (
        render_template("liner_lots/new.html", form=form, batch=batch, left=left, today=today()),
        status_of(form),
    )


@blueprint.route("/liner-lots/<code>/split", methods=["GET", "POST"])
@allow(Permission.CHECK)
def split(code: str) -> ResponseReturnValue:
    """Let some of a lot be a lot of their own."""
    lot = get_liner_lot(db(), code=code)
    form = stage_form({"bench": "" if lot.bench_id is None else str(lot.bench_id)})

    def save(session: Session) -> Saved:
        entry = form.entry(Stage.SPLIT, today=today())
        made = split_lot(
            session, actor=actor(), today=today(), now=now(), lot_id=lot.id, entry=entry
        )
        message = f"{entry.number or 0:,} of {lot.code} are {made.lot_code} now: label them so."
        return saved_stages(made, message=message)

    answer = submit(form, save)
    return answer or (
        render_template("liner_lots/split.html", form=form, lot=lot, today=today()),
        status_of(form),
    )


@blueprint.route("/liner-lots/<code>/merge", methods=["GET", "POST"])
@allow(Permission.CHECK)
def merge(code: str) -> ResponseReturnValue:
    """Let this lot and other ready ones of its plant be one lot."""
    lot = get_liner_lot(db(), code=code)
    wanted = LotsWanted(which=LotsIn.READY, plant_name_id=lot.plant_name_id)
    others = tuple(one for one in list_liner_lots(db(), wanted=wanted) if one.id != lot.id)
    form = stage_form({"bench": "" if lot.bench_id is None else str(lot.bench_id)}, lots=others)

    def save(session: Session) -> Saved:
        made = merge_lots(
            session,
            actor=actor(),
            today=today(),
            now=now(),
            lot_ids=(lot.id, *form.lot_ids()),
            entry=form.entry(Stage.MERGED, today=today()),
        )
        message = f"They are {made.lot_code} now: label them so."
        return saved_stages(made, message=message)

    answer = submit(form, save)
    return answer or (
        render_template("liner_lots/merge.html", form=form, lot=lot, others=others, today=today()),
        status_of(form),
    )


@blueprint.route("/liner-lots/<code>/move", methods=["GET", "POST"])
@allow(Permission.CHECK)
def move(code: str) -> ResponseReturnValue:
    """Move a whole lot to another bench."""
    lot = get_liner_lot(db(), code=code)
    form = BatchMoveForm(data={"moved_on": typed_day(today())})
    form.offer(benches=list_batch_choices(db()).benches, stands=())
    answer = submit(form, lambda session: _move(session, lot, form))
    return answer or (
        render_template("liner_lots/move.html", form=form, lot=lot, today=today()),
        status_of(form),
    )


@blueprint.route("/liner-lots/<code>/move/undo", methods=["POST"])
@allow(Permission.CHECK)
def undo_move(code: str) -> ResponseReturnValue:
    """Take back a move that was just entered."""
    lot = get_liner_lot(db(), code=code)
    ended, begun = (tuple(request.args.getlist(name, type=int)) for name in ("ended", "begun"))

    def save(session: Session) -> Saved:
        made = MoveMade(ended=ended, begun=begun)
        undo_lot_move(session, actor=actor(), now=now(), lot_id=lot.id, made=made)
        here = url_for("liner_lots.show", code=lot.code)
        return Saved(location=here, message=f"{lot.code} stands again where it stood.")

    return press(save)


def _move(session: Session, lot: KnownLot, form: BatchMoveForm) -> Saved:
    entry = move_entry(form, today=today())
    made = move_lot(session, actor=actor(), today=today(), now=now(), lot_id=lot.id, entry=entry)
    there = {choice.value: choice.label for choice in form.bench.choices}[form.bench.data]
    warning = ""
    if entry.to_bench_id:
        warning = get_bench_load(session, bench_id=entry.to_bench_id, on=today()).warning(there)
    since = day_short(entry.moved_on, today=today())
    said = f"{lot.code} is {'on ' if entry.to_bench_id else ''}{there} since {since}."
    return Saved(
        location=url_for("liner_lots.show", code=lot.code),
        message=f"{said} {warning}".rstrip(),
        undo=url_for("liner_lots.undo_move", code=lot.code, ended=made.ended, begun=made.begun),
    )


@blueprint.route("/liner-lots/<code>/edit", methods=["GET", "POST"])
@allow(Permission.CHECK)
def edit(code: str) -> ResponseReturnValue:
    """Correct in how many trays a lot stands, and its notes."""
    lot = get_liner_lot(db(), code=code)
    typed: dict[str, Any] = {
        "version": lot.version,
        "trays": "" if lot.trays is None else str(lot.trays),
        "notes": lot.notes,
    }
    form = LinerLotForm(data=typed)

    def save(session: Session) -> Saved:
        correct_lot(
            session,
            actor=actor(),
            now=now(),
            lot_id=lot.id,
            version=form.version.data,
            trays=form.tray_count(),
            notes=form.notes.data or "",
        )
        here = url_for("liner_lots.show", code=lot.code)
        return Saved(location=here, message=f"{lot.code} is saved.")

    answer = submit(form, save)
    return answer or (
        render_template("liner_lots/edit.html", form=form, lot=lot),
        status_of(form),
    )
