"""The page of the season: which batch to stick in which week for all open orders together."""

from datetime import timedelta
from typing import TYPE_CHECKING, Any, Final

from flask import Blueprint, render_template, request
from flask.typing import ResponseReturnValue

from app.domain.orders import order_number
from app.domain.permissions import Permission
from app.domain.season_lines import SeasonLineEntry
from app.domain.work_speeds import Step, labour_words, speed_of
from app.services.season_lines import PlannedSeason
from app.store.queries.season_lines import find_last_plan, list_season_lines
from app.store.queries.work_speeds import list_work_done
from app.web.forms.season_lines import plan_form
from app.web.forms.seasons import SeasonForm
from app.web.permissions import allow
from app.web.requests import db, today
from app.web.season_reading import fixed_lines, read_season

if TYPE_CHECKING:
    from app.domain.season_answers import SeasonAnswer

blueprint = Blueprint("seasons", __name__, url_prefix="/plan")

# A page is waited for: below ten seconds, in two searches.
_TIME_LIMIT_S: Final = 4.0
_SPEED_DAYS: Final = 730


@blueprint.route("/season")
@allow(Permission.READ)
def show() -> ResponseReturnValue:
    """Show the batches by week, and what cannot be met for which limit."""
    form = SeasonForm(request.args)
    numbers = form.numbers()
    if numbers is None:
        return render_template("seasons/show.html", form=form, answer=None, room=None), 422
    return render_template("seasons/show.html", form=form, **_planned(numbers))


def _planned(numbers: dict[str, int | None]) -> dict[str, Any]:
    """Return what the template shows, reckoned outside any transaction."""
    from app.domain.season_answers import plan_wishes  # noqa: PLC0415 - loads numpy

    last = find_last_plan(db())
    fixed = [line for line in list_season_lines(db()) if line.fixed and not line.is_past(today())]
    season = read_season(**numbers)
    answer = plan_wishes(
        season.wishes,
        room=season.room,
        today=today(),
        fixed=fixed_lines(fixed),
        time_limit_s=_TIME_LIMIT_S,
    )
    planned = PlannedSeason(
        lines=[
            SeasonLineEntry(
                order_number=order_number(line.order), week_on=line.week_on, cuttings=line.cuttings
            )
            for line in answer.lines
            if line.week_on
        ],
        fixed=frozenset((line.id, line.version) for line in fixed),
        **numbers,
        gap_share=answer.gap_share,
        stopped_early=answer.stopped_early,
    )
    return {
        "room": season.room,
        "labour_words": _labour_words(),
        "orders": len(season.wishes),
        "fixed": fixed,
        "keep_form": plan_form(planned, seen_at=last.planned_at if last else None),
        **_shown(answer),
    }


def _labour_words() -> str:
    """Return how many cuttings a week of sticking comes to by the log, "" where it is not known."""
    done = list_work_done(db(), since=today() - timedelta(days=_SPEED_DAYS))
    return labour_words(speed_of([work for work in done if work.step is Step.STUCK]))


def _shown(answer: "SeasonAnswer") -> dict[str, Any]:
    batches = [line for line in answer.lines if line.week_on]
    return {
        "answer": answer,
        "batches": batches,
        "cuttings": sum(line.cuttings for line in batches),
        "missing": [line for line in answer.lines if not line.week_on],
        "today": today(),
    }
