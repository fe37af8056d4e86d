"""Downloads: each kind of sheet as .csv or .xlsx, read a chunk at a time."""

from io import BytesIO
from typing import Final

from flask import Blueprint, Response, abort, send_file
from flask.typing import ResponseReturnValue

from app.domain.permissions import Permission
from app.formats.csv_sheets import csv_chunks
from app.formats.xlsx_sheets import write_xlsx
from app.services.exports import ExportKind, export_rows
from app.web.permissions import allow
from app.web.requests import database, today

blueprint = Blueprint("exports", __name__, url_prefix="/records/export")

_XLSX: Final = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"


@blueprint.route("/<kind>.csv")
@allow(Permission.EXPORT)
def csv_sheet(kind: str) -> ResponseReturnValue:
    """Send a kind of sheet as CSV while it is being read."""
    # The program's database, not the request's session: it is read after the view has ended.
    rows = export_rows(database().reading, kind=_known(kind))
    answer = Response(csv_chunks(rows), mimetype="text/csv")
    answer.headers["Content-Disposition"] = f'attachment; filename="{_name(kind)}.csv"'
    return answer


@blueprint.route("/<kind>.xlsx")
@allow(Permission.EXPORT)
def xlsx_sheet(kind: str) -> ResponseReturnValue:
    """Send a kind of sheet as a workbook."""
    rows = export_rows(database().reading, kind=_known(kind))
    file = BytesIO()
    write_xlsx(rows, target=file, title=kind)
    file.seek(0)
    return send_file(file, mimetype=_XLSX, as_attachment=True, download_name=f"{_name(kind)}.xlsx")


def _known(kind: str) -> ExportKind:
    try:
        return ExportKind(kind)
    except ValueError:
        abort(404)


def _name(kind: str) -> str:
    return f"{kind} {today().isoformat()}"
