"""The page of the season: which batch to stick in which week for all open orders together."""

from typing import TYPE_CHECKING, Any, Final

from flask import Blueprint, render_template, request
from flask.typing import ResponseReturnValue

from app.domain.permissions import Permission
from app.web.forms.seasons import SeasonForm
from app.web.pages.order_questions import learned_books
from app.web.permissions import allow
from app.web.requests import db, end_reading, today

if TYPE_CHECKING:
    from app.domain.season_answers import SeasonAnswer

blueprint = Blueprint("seasons", __name__, url_prefix="/plan")

# A page is waited for: below ten seconds, in two searches.
_TIME_LIMIT_S: Final = 4.0


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
    # All of these load numpy, which a page without sums must not pay for.
    from app.domain.season_answers import (  # noqa: PLC0415 - as said
        USUAL_PER_TRAY,
        SeasonRoom,
        plan_wishes,
    )
    from app.store.queries.season_wishes import (  # noqa: PLC0415 - as said
        free_trays,
        list_wished_orders,
        read_wish,
    )

    books = learned_books()
    wishes = [
        read_wish(db(), books=books, wished=wished, today=today())
        for wished in list_wished_orders(db())
    ]
    room = SeasonRoom(
        trays=free_trays(db()) if numbers["trays"] is None else numbers["trays"],
        labour=numbers["labour"],
        per_tray=numbers["per_tray"] or USUAL_PER_TRAY,
    )
    end_reading()
    answer = plan_wishes(wishes, room=room, today=today(), time_limit_s=_TIME_LIMIT_S)
    return {"room": room, "orders": len(wishes), **_shown(answer)}


def _shown(answer: "SeasonAnswer") -> dict[str, Any]:
    batches = [line for line in answer.lines if line.week_on]
    return {
        "answer": answer,
        "batches": batches,
        "cuttings": sum(line.cuttings for line in batches),
        "missing": [line for line in answer.lines if not line.week_on],
        "today": today(),
    }
