"""The page that answers "what must I look at?"."""

from flask import Blueprint, redirect, render_template, url_for
from flask.typing import ResponseReturnValue

from app.domain.days import day_long
from app.domain.due import DueState, bench_summary, today_heading
from app.domain.people import Role
from app.domain.permissions import Permission
from app.store.queries.today import DueBench, has_batches, list_due
from app.web.permissions import allow
from app.web.requests import actor, db, today

blueprint = Blueprint("today", __name__)


@blueprint.route("/")
@allow(Permission.READ)
def show() -> ResponseReturnValue:
    """List what is late, due today and due in the coming seven days, by bench."""
    due = list_due(db(), on=today())
    batches = (batch for bench in due.benches for batch in bench.batches)
    wanted = [batch for batch in batches if batch.state is not DueState.COMING]
    return render_template(
        "today/show.html",
        due=due,
        heading=today_heading(late=due.late, due_today=due.due_today),
        lead=f"{day_long(today())}. In the order they stand.",
        first=wanted[0] if wanted else None,
        bench_words=_bench_words,
        trainee=actor().role is Role.TRAINEE,
        started=has_batches(db()),
        today=today(),
    )


@blueprint.route("/today")
@allow(Permission.READ)
def lead_there() -> ResponseReturnValue:
    """Lead to the one address of this page."""
    return redirect(url_for("today.show"), code=302)


def _bench_words(bench: DueBench) -> str:
    return bench_summary(
        late=bench.number(DueState.LATE),
        due_today=bench.number(DueState.DUE_TODAY),
        coming=bench.number(DueState.COMING),
    )
