"""The page of the whole-nursery archive, and its download."""

from tempfile import TemporaryFile

from flask import Blueprint, render_template, send_file
from flask.typing import ResponseReturnValue

from app.domain.permissions import Permission
from app.formats.archive_sheets import NotCarried
from app.services.archives import archived_words, left_out_words, pack_archive
from app.web.permissions import allow
from app.web.requests import end_reading, running, today

blueprint = Blueprint("archives", __name__, url_prefix="/records")


@blueprint.route("/archive")
@allow(Permission.KEEP_BACKUPS)
def show() -> ResponseReturnValue:
    """Say what an archive holds and leaves out, and offer it."""
    return _page()


@blueprint.route("/archive.zip")
@allow(Permission.KEEP_BACKUPS)
def download() -> ResponseReturnValue:
    """Send the whole log as sheets and photographs in one zip."""
    day = today()
    end_reading()
    file = TemporaryFile()  # noqa: SIM115 - the answer closes it once it is sent
    try:
        pack_archive(running().settings, target=file)
    except NotCarried as refusal:
        file.close()
        return _page(problem=str(refusal)), 500
    file.seek(0)
    return send_file(
        file,
        mimetype="application/zip",
        as_attachment=True,
        download_name=f"strikewell archive {day.isoformat()}.zip",
    )


def _page(*, problem: str = "") -> str:
    return render_template(
        "archives/show.html",
        tables=archived_words(),
        left_out=left_out_words(),
        problem=problem,
    )
