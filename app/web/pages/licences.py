"""The page of protected varieties: what was raised under each licence by year."""

from flask import Blueprint, Response, render_template
from flask.typing import ResponseReturnValue

from app.domain.licences import AGREEMENT, COLUMNS, licence_rows
from app.domain.permissions import Permission
from app.formats.csv_sheets import csv_chunks
from app.store.queries.licences import list_licence_counts
from app.web.permissions import allow
from app.web.requests import db, today

blueprint = Blueprint("licences", __name__, url_prefix="/licences")


@blueprint.route("")
@allow(Permission.READ)
def show() -> ResponseReturnValue:
    """Show what was stuck and what rooted of each protected variety, by year."""
    counts = list_licence_counts(db())
    return render_template(
        "licences/show.html",
        counts=counts,
        without=[count.plant.plant for count in counts if count.plant.without_licence(today())],
        agreement=AGREEMENT,
        today=today(),
    )


@blueprint.route("/sheet.csv")
@allow(Permission.EXPORT)
def sheet() -> ResponseReturnValue:
    """Send the same as CSV."""
    rows = [COLUMNS, *licence_rows(list_licence_counts(db()))]
    answer = Response(b"".join(csv_chunks(rows)), mimetype="text/csv")
    name = f"protected varieties {today().isoformat()}.csv"
    answer.headers["Content-Disposition"] = f'attachment; filename="{name}"'
    return answer
