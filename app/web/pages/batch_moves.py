"""Pages on which a batch is moved from bench to bench."""

from flask import Blueprint, render_template, request, url_for
from flask.typing import ResponseReturnValue
from sqlalchemy.orm import Session

from app.domain.batch_moves import MoveEntry, Stand
from app.domain.days import day_short
from app.domain.permissions import Permission
from app.services.batch_moves import MoveMade, move_batch, undo_move
from app.store.queries.batch_choices import Choice, list_batch_choices
from app.store.queries.batch_places import list_stands
from app.store.queries.batches import BatchStory, get_batch
from app.store.queries.bench_stands import get_bench_load
from app.web.batch_filling import typed_day
from app.web.forms.batch_moves import BatchMoveForm, move_entry
from app.web.permissions import allow
from app.web.requests import actor, db, now, press, status_of, submit, today
from app.web.results import Saved

blueprint = Blueprint("batch_moves", __name__, url_prefix="/batches")


@blueprint.route("/<code>/move", methods=["GET", "POST"])
@allow(Permission.CHECK)
def create(code: str) -> ResponseReturnValue:
    """Move a batch, or some of its trays, to another bench."""
    batch = get_batch(db(), code=code)
    stands = list_stands(db(), batch_id=batch.id)
    form = BatchMoveForm(data={"moved_on": typed_day(today())})
    form.offer(benches=list_batch_choices(db()).benches, stands=_choices(stands))
    answer = submit(form, lambda session: _move(session, batch, form))
    if answer:
        return answer
    page = render_template(
        "batch_moves/new.html", form=form, batch=batch, stands=stands, today=today()
    )
    return page, status_of(form)


@blueprint.route("/<code>/move/undo", methods=["POST"])
@allow(Permission.CHECK)
def undo(code: str) -> ResponseReturnValue:
    """Take back a move that was just entered."""
    batch = get_batch(db(), code=code)
    made = MoveMade(ended=_ids("ended"), begun=_ids("begun"))

    def save(session: Session) -> Saved:
        undo_move(session, actor=actor(), now=now(), batch_id=batch.id, made=made)
        return Saved(
            location=url_for("batches.show", code=batch.code),
            message=f"{batch.code} stands again where it stood.",
        )

    return press(save)


def _move(session: Session, batch: BatchStory, form: BatchMoveForm) -> Saved:
    entry = move_entry(form, today=today())
    made = move_batch(
        session, actor=actor(), today=today(), now=now(), batch_id=batch.id, entry=entry
    )
    names = {choice.value: choice.label for choice in form.bench.choices}
    what = f"{entry.trays:,} trays of {batch.code} are" if entry.trays else f"{batch.code} is"
    there = names[form.bench.data]
    warning = ""
    if entry.to_bench_id:
        load = get_bench_load(session, bench_id=entry.to_bench_id, on=today())
        warning = load.warning(there)
    said = f"{what} {'on ' if entry.to_bench_id else ''}{there} since {_since(entry)}."
    return Saved(
        location=url_for("batches.show", code=batch.code),
        message=f"{said} {warning}".rstrip(),
        undo=url_for("batch_moves.undo", code=batch.code, ended=made.ended, begun=made.begun),
    )


def _since(entry: MoveEntry) -> str:
    return day_short(entry.moved_on, today=today())


def _choices(stands: tuple[Stand, ...]) -> tuple[Choice, ...]:
    named = {stand.bench_id: stand.bench for stand in stands}
    return tuple(Choice(id=bench_id, name=name) for bench_id, name in named.items())


def _ids(name: str) -> tuple[int, ...]:
    return tuple(request.args.getlist(name, type=int))
