"""Pages of the benches: the walk, who stands on one, a new one, a correction, closing."""

from dataclasses import dataclass

from flask import Blueprint, Response, render_template, url_for
from flask.typing import ResponseReturnValue
from sqlalchemy.orm import Session

from app.domain.genus_cautions import FOLLOW_THE_LABEL
from app.domain.permissions import Permission
from app.domain.work_cautions import bench_cautions
from app.services.benches import (
    add_bench,
    close_bench,
    correct_bench,
    place_bench,
    reopen_bench,
)
from app.store.queries.bench_batches import StandingBatch, list_standing_batches
from app.store.queries.bench_lots import list_stood_lots
from app.store.queries.bench_stands import get_bench_load
from app.store.queries.benches import (
    KnownBench,
    LoadedBench,
    get_bench,
    list_loaded_benches,
    list_standing_stock_plants,
)
from app.store.queries.record_histories import list_history_of_named
from app.store.queries.treatments import list_treatments_on_bench
from app.web.forms.benches import BenchForm
from app.web.permissions import allow
from app.web.reentries import reentry_warnings
from app.web.requests import actor, db, now, nursery, press, status_of, submit, today
from app.web.results import Saved

blueprint = Blueprint("benches", __name__, url_prefix="/benches")


@dataclass(frozen=True, kw_only=True)
class WalkLine:
    """A bench in the walk, and the places before and after it, None at an end."""

    loaded: LoadedBench
    sooner: int | None
    later: int | None


@dataclass(frozen=True, kw_only=True)
class BenchPlace:
    """A batch on a bench, and the places before and after it in the order, None at an end."""

    batch: StandingBatch
    sooner: int | None
    later: int | None


@blueprint.route("")
@allow(Permission.READ)
def show_all() -> ResponseReturnValue:
    """List the benches in the order they are walked, with what stands on each."""
    loaded = list_loaded_benches(db())
    return render_template(
        "benches/list.html",
        walk=_walk([one for one in loaded if not one.bench.closed]),
        closed=[one.bench for one in loaded if one.bench.closed],
    )


@blueprint.route("/new", methods=["GET", "POST"])
@allow(Permission.KEEP_REGISTERS)
def create() -> ResponseReturnValue:
    """Add a bench at the end of the walk."""
    form = BenchForm()

    def add(session: Session) -> Saved:
        entry = form.entry()
        added = add_bench(session, actor=actor(), now=now(), entry=entry)
        return Saved(
            location=url_for("benches.show_all"),
            message=f"{' '.join(entry.name.split())} is saved.",
            link=url_for("benches.show", bench_id=added),
            undo=url_for("benches.close", bench_id=added),
            next=url_for("benches.create"),
            next_words="Another bench",
        )

    answer = submit(form, add)
    return answer or (
        render_template("benches/edit.html", form=form, bench=None),
        status_of(form),
    )


@blueprint.route("/<int:bench_id>")
@allow(Permission.READ)
def show(bench_id: int) -> ResponseReturnValue:
    """Show a bench and who stands there."""
    bench = get_bench(db(), bench_id=bench_id)
    treatments = list_treatments_on_bench(db(), bench_id=bench_id)
    return render_template(
        "benches/show.html",
        treatments=treatments,
        warnings=reentry_warnings(treatments),
        bench=bench,
        order=_order(list_standing_batches(db(), bench_id=bench_id)),
        load=get_bench_load(db(), bench_id=bench_id, on=today()),
        lots=list_stood_lots(db(), on=today(), bench_id=bench_id),
        cautions=bench_cautions(),
        follow=FOLLOW_THE_LABEL,
        stock_plants=list_standing_stock_plants(db(), bench_id=bench_id),
        history=list_history_of_named(
            db(), kind="bench", name=bench.name, field="name", zone=nursery().zone
        ),
        today=today(),
    )


@blueprint.route("/<int:bench_id>/edit", methods=["GET", "POST"])
@allow(Permission.KEEP_REGISTERS)
def edit(bench_id: int) -> ResponseReturnValue:
    """Correct a bench."""
    bench = get_bench(db(), bench_id=bench_id)
    form = BenchForm(data=_typed(bench))

    def correct(session: Session) -> Saved:
        correct_bench(
            session,
            actor=actor(),
            now=now(),
            bench_id=bench_id,
            version=form.version.data,
            entry=form.entry(),
        )
        return Saved(
            location=url_for("benches.show", bench_id=bench_id),
            message=f"{' '.join((form.name.data or '').split())} is saved.",
        )

    answer = submit(form, correct)
    return answer or (
        render_template("benches/edit.html", form=form, bench=bench),
        status_of(form),
    )


@blueprint.route("/<int:bench_id>/place/<int:place>", methods=["POST"])
@allow(Permission.KEEP_REGISTERS)
def put(bench_id: int, place: int) -> Response:
    """Put a bench at a place in the walk."""
    bench = get_bench(db(), bench_id=bench_id)

    def move(session: Session) -> Saved:
        before = place_bench(session, actor=actor(), now=now(), bench_id=bench_id, place=place)
        return Saved(
            location=url_for("benches.show_all"),
            message=f"{bench.name} has another place in the walk.",
            undo=url_for("benches.put", bench_id=bench_id, place=before),
        )

    return press(move)


@blueprint.route("/<int:bench_id>/close", methods=["POST"])
@allow(Permission.KEEP_REGISTERS)
def close(bench_id: int) -> Response:
    """Take an empty bench out of use."""
    bench = get_bench(db(), bench_id=bench_id)

    def shut(session: Session) -> Saved:
        close_bench(session, actor=actor(), now=now(), bench_id=bench_id)
        return Saved(
            location=url_for("benches.show_all"),
            message=f"{bench.name} is closed: it is no longer offered.",
            undo=url_for("benches.reopen", bench_id=bench_id),
        )

    return press(shut)


@blueprint.route("/<int:bench_id>/reopen", methods=["POST"])
@allow(Permission.KEEP_REGISTERS)
def reopen(bench_id: int) -> Response:
    """Put a closed bench back into use."""
    bench = get_bench(db(), bench_id=bench_id)

    def use(session: Session) -> Saved:
        reopen_bench(session, actor=actor(), now=now(), bench_id=bench_id)
        return Saved(
            location=url_for("benches.show_all"),
            message=f"{bench.name} is back in use, at the end of the walk.",
            undo=url_for("benches.close", bench_id=bench_id),
        )

    return press(use)


def _walk(benches: list[LoadedBench]) -> list[WalkLine]:
    return [
        WalkLine(
            loaded=loaded,
            sooner=place - 1 if place > 1 else None,
            later=place + 1 if place < len(benches) else None,
        )
        for place, loaded in enumerate(benches, start=1)
    ]


def _order(batches: tuple[StandingBatch, ...]) -> list[BenchPlace]:
    return [
        BenchPlace(
            batch=batch,
            sooner=place - 1 if place > 1 else None,
            later=place + 1 if place < len(batches) else None,
        )
        for place, batch in enumerate(batches, start=1)
    ]


def _typed(bench: KnownBench) -> dict[str, object]:
    return {
        "name": bench.name,
        "capacity_trays": "" if bench.capacity_trays is None else str(bench.capacity_trays),
        "notes": bench.notes,
        "version": bench.version,
    }
