"""The page that answers "what must I look at?"."""

from typing import Any, Final

from flask import Blueprint, redirect, render_template, request, url_for
from flask.typing import ResponseReturnValue

from app.domain.days import day_long, iso_week
from app.domain.due import DueState, batch_count, bench_summary, today_heading
from app.domain.due_lists import DueBatch, DueBench, DueList
from app.domain.order_notices import notice_sentences
from app.domain.people import Role
from app.domain.permissions import Permission
from app.domain.stock_plant_notices import (
    INSPECT_AHEAD,
    MOST_TO_SEE,
    TEST_AHEAD,
    TEST_BEHIND,
    running_out_words,
)
from app.store.queries.order_progress import list_unlikely_orders
from app.store.queries.practicals import list_practicals_on
from app.store.queries.stock_plant_events import list_plants_to_see
from app.store.queries.today import has_batches, list_due
from app.store.queries.treatments import list_running
from app.web.permissions import allow
from app.web.reentries import reentry_warnings
from app.web.requests import actor, db, now, today

blueprint = Blueprint("today", __name__)

BY_COST: Final = "cost"
_TITLES: Final = {
    DueState.LATE: "Late",
    DueState.DUE_TODAY: "Due",
    DueState.COMING: "Coming seven days",
}


@blueprint.route("/")
@allow(Permission.READ)
def show() -> ResponseReturnValue:
    """List what is late, due today and due in the coming seven days.

    By bench in walking order, or with order=cost by what waiting costs.
    """
    due = list_due(db(), on=today())
    learned = any(batch.outlook for batch in due.batches)
    by_cost = _by_cost(due) if learned and request.args.get("order") == BY_COST else ()
    return render_template(
        "today/show.html",
        due=due,
        heading=today_heading(late=due.late, due_today=due.due_today),
        lead=_lead(by_cost=bool(by_cost)),
        first=next(iter(due.wanted), None),
        bench_words=_bench_words,
        batch_count=batch_count,
        learned=learned,
        by_cost=by_cost,
        unlikely_orders=[
            (notice.order, notice_sentences(notice, today=today()))
            for notice in list_unlikely_orders(db())
        ],
        practicals=list_practicals_on(db(), day=today()),
        trainee=actor().role is Role.TRAINEE,
        started=has_batches(db()),
        **_stock_plants(),
        warnings=reentry_warnings(list_running(db(), now=now())),
        today=today(),
    )


@blueprint.route("/today")
@allow(Permission.READ)
def lead_there() -> ResponseReturnValue:
    """Lead to the one address of this page."""
    return redirect(url_for("today.show"), code=302)


def _stock_plants() -> dict[str, Any]:
    """Return the stock plants that want seeing to, each with what is said of its test."""
    found = list_plants_to_see(
        db(),
        inspect_by=today() + INSPECT_AHEAD,
        tested_from=today() - TEST_BEHIND,
        tested_to=today() + TEST_AHEAD,
        most=MOST_TO_SEE,
    )
    return {
        "to_see": [
            (plant, running_out_words(plant.tested_until, today=today())) for plant in found.plants
        ],
        "more_to_see": found.more,
    }


def _lead(*, by_cost: bool) -> str:
    order = (
        "Where rooted ones have been standing longest first"
        if by_cost
        else ("In the order they stand")
    )
    # The day has its year already: of the week only the number is said.
    week = int(iso_week(today()).partition("-W")[2])
    return f"{day_long(today())}, week {week}. {order}."


def _by_cost(due: DueList) -> tuple[tuple[str, tuple[DueBatch, ...]], ...]:
    """Return what is late, due and coming, each with its title; what is empty is left out."""
    found = ((title, due.costs_most_first(state)) for state, title in _TITLES.items())
    return tuple((title, batches) for title, batches in found if batches)


def _bench_words(bench: DueBench) -> str:
    return bench_summary(
        late=bench.number(DueState.LATE),
        due_today=bench.number(DueState.DUE_TODAY),
        coming=bench.number(DueState.COMING),
    )
