"""The page of what is assumed, and what was learned in its place."""

from flask import Blueprint, render_template
from flask.typing import ResponseReturnValue

from app.domain.fit_records import FEWEST_FINISHED
from app.domain.permissions import Permission
from app.store.queries.fits import count_settled
from app.web.learning import learned_fit
from app.web.permissions import allow
from app.web.requests import db

blueprint = Blueprint("assumptions", __name__)


@blueprint.route("/assumptions")
@allow(Permission.READ)
def show() -> ResponseReturnValue:
    """Show every starting value without a source, beside what the nursery has learned since."""
    fit = learned_fit()
    from app.domain.assumptions import list_assumptions  # noqa: PLC0415 - loads numpy

    return render_template(
        "assumptions/show.html",
        groups=list_assumptions(fit),
        learned=fit is not None,
        finished=fit.finished if fit else count_settled(db()),
        fewest=FEWEST_FINISHED,
    )
