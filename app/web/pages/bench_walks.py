"""Pages for walking a bench: all well except, and undo."""

from flask import Blueprint, render_template, url_for
from flask.typing import ResponseReturnValue
from sqlalchemy.orm import Session
from wtforms import SelectChoice

from app.domain.due import batch_count
from app.domain.genus_cautions import FOLLOW_THE_LABEL
from app.domain.permissions import Permission
from app.domain.work_cautions import bench_cautions
from app.services.bench_walks import undo_walk, walk_bench
from app.services.waited_entries import keep_waited
from app.store.queries.bench_batches import get_bench_name, list_standing_batches
from app.store.queries.preparing_sheets import list_plant_cautions
from app.store.queries.treatments import list_treatments_on_bench
from app.web.forms.checks import WalkForm
from app.web.permissions import allow
from app.web.reentries import reentry_warnings
from app.web.requests import (
    actor,
    day_meant,
    db,
    now,
    press,
    status_of,
    submit,
    today,
    waited,
)
from app.web.results import Saved

blueprint = Blueprint("bench_walks", __name__)


@blueprint.route("/benches/<int:bench_id>/walk", methods=["GET", "POST"])
@allow(Permission.CHECK)
def walk(bench_id: int) -> ResponseReturnValue:
    """Log a look at every open batch on a bench but those ticked."""
    form = WalkForm()
    standing = list_standing_batches(db(), bench_id=bench_id)
    form.excepted.choices = [SelectChoice(batch.batch_id, batch.code) for batch in standing]

    def save(session: Session) -> Saved:
        walked = walk_bench(
            session,
            actor=actor(),
            today=today(),
            now=now(),
            bench_id=bench_id,
            walked_on=form.day(today=day_meant()),
            except_batch_ids=frozenset(form.excepted.data or ()),
        )
        keep_waited(session, waited=waited(), check_ids=walked.check_ids)
        number = len(walked.looked_at)
        return Saved(
            location=url_for("today.show"),
            message=f"{walked.bench} walked: a look logged for {batch_count(number)}.",
            undo=url_for("bench_walks.undo", walk_key=walked.walk_key),
        )

    answer = submit(form, save)
    return answer or (
        render_template(
            "bench_walks/walk.html",
            form=form,
            bench=get_bench_name(db(), bench_id=bench_id),
            standing=standing,
            warnings=reentry_warnings(list_treatments_on_bench(db(), bench_id=bench_id)),
            excepted=form.excepted.data or [],
            plant_cautions=list_plant_cautions(db(), plants=[each.plant for each in standing]),
            cautions=bench_cautions(),
            follow=FOLLOW_THE_LABEL,
            today=today(),
        ),
        status_of(form),
    )


@blueprint.route("/walks/<walk_key>/undo", methods=["POST"])
@allow(Permission.CHECK)
def undo(walk_key: str) -> ResponseReturnValue:
    """Take the looks of a walk back."""

    def take_back(session: Session) -> Saved:
        number = undo_walk(session, actor=actor(), now=now(), walk_key=walk_key)
        message = f"Undone: the look is withdrawn from {batch_count(number)}."
        return Saved(location=url_for("today.show"), message=message)

    return press(take_back)
