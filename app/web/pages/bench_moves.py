"""Pages on which all of a bench is moved at once, and batches are put in their order on it."""

from flask import Blueprint, Response, render_template, url_for
from flask.typing import ResponseReturnValue
from sqlalchemy.orm import Session

from app.domain.days import day_short
from app.domain.due import batch_count
from app.domain.permissions import Permission
from app.services.bench_moves import move_bench, undo_bench_move
from app.services.bench_places import place_on_bench
from app.store.queries.batch_choices import list_batch_choices
from app.store.queries.bench_batches import get_bench_name, list_standing_batches
from app.store.queries.bench_stands import get_bench_load
from app.store.queries.treatments import list_treatments_on_bench
from app.web.batch_filling import typed_day
from app.web.forms.bench_moves import BenchMoveForm
from app.web.permissions import allow
from app.web.reentries import reentry_warnings
from app.web.requests import actor, db, now, press, status_of, submit, today
from app.web.results import Saved

blueprint = Blueprint("bench_moves", __name__, url_prefix="/benches")


@blueprint.route("/<int:bench_id>/move", methods=["GET", "POST"])
@allow(Permission.CHECK)
def create(bench_id: int) -> ResponseReturnValue:
    """Move all that stands on a bench, but what is ticked, to another one."""
    bench = get_bench_name(db(), bench_id=bench_id)
    standing = list_standing_batches(db(), bench_id=bench_id)
    form = BenchMoveForm(data={"moved_on": typed_day(today())})
    benches = tuple(one for one in list_batch_choices(db()).benches if one.id != bench_id)
    form.offer(benches=benches, standing=standing)
    answer = submit(form, lambda session: _move(session, form, bench_id=bench_id, bench=bench))
    return answer or (
        render_template(
            "bench_moves/new.html",
            form=form,
            bench=bench,
            bench_id=bench_id,
            standing=standing,
            excepted=form.excepted.data or [],
            warnings=reentry_warnings(list_treatments_on_bench(db(), bench_id=bench_id)),
        ),
        status_of(form),
    )


@blueprint.route("/moves/<move_key>/undo", methods=["POST"])
@allow(Permission.CHECK)
def undo(move_key: str) -> Response:
    """Let everything a move took along stand again as before."""

    def take_back(session: Session) -> Saved:
        number = undo_bench_move(session, actor=actor(), now=now(), key=move_key)
        return Saved(
            location=url_for("benches.show_all"),
            message=f"Undone: {batch_count(number)} stand again where they stood.",
        )

    return press(take_back)


@blueprint.route("/<int:bench_id>/order/<int:batch_id>/<int:place>", methods=["POST"])
@allow(Permission.CHECK)
def put(bench_id: int, batch_id: int, place: int) -> Response:
    """Put a batch at a place in the order on its bench."""

    def save(session: Session) -> Saved:
        before = place_on_bench(
            session, actor=actor(), now=now(), bench_id=bench_id, batch_id=batch_id, place=place
        )
        back = url_for("bench_moves.put", bench_id=bench_id, batch_id=batch_id, place=before)
        return Saved(
            location=url_for("benches.show", bench_id=bench_id),
            message="It has another place on the bench.",
            undo=back,
        )

    return press(save)


def _move(session: Session, form: BenchMoveForm, *, bench_id: int, bench: str) -> Saved:
    to_bench_id, moved_on = form.wanted(today=today())
    moved = move_bench(
        session,
        actor=actor(),
        today=today(),
        now=now(),
        bench_id=bench_id,
        to_bench_id=to_bench_id,
        moved_on=moved_on,
        except_batch_ids=frozenset(form.excepted.data or ()),
    )
    there = "off the benches"
    warning = ""
    if to_bench_id is not None:
        name = get_bench_name(session, bench_id=to_bench_id)
        there = f"on {name}"
        load = get_bench_load(session, bench_id=to_bench_id, on=today())
        warning = load.warning(name)
    number = len(moved.codes)
    verb = "is" if number == 1 else "are"
    said = (
        f"{batch_count(number)} from {bench} {verb} {there} since "
        f"{day_short(moved_on, today=today())}."
    )
    return Saved(
        location=url_for("benches.show", bench_id=to_bench_id or bench_id),
        message=f"{said} {warning}".rstrip(),
        undo=url_for("bench_moves.undo", move_key=moved.key),
    )
