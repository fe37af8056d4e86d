"""The page of the log as a whole: reading in, taking out, backups, history, people, lists."""

from pathlib import Path
from tempfile import TemporaryDirectory, TemporaryFile

from flask import Blueprint, render_template, request, send_file
from flask.typing import ResponseReturnValue

from app.domain.permissions import Permission
from app.services.backups import backup_state, write_backup
from app.services.exports import EXPORT_WORDS
from app.store.queries.history import list_recent_history
from app.store.queries.import_stages import list_stages
from app.store.queries.photographs import count_photographs
from app.web.permissions import allow, may
from app.web.requests import db, now, nursery, running, today

blueprint = Blueprint("records", __name__, url_prefix="/records")

_HISTORY_PAGE = 100


@blueprint.route("")
@allow(Permission.READ)
def show() -> ResponseReturnValue:
    """Show what can be done with the log as a whole, as far as the role goes."""
    return render_template(
        "records/show.html",
        kinds=EXPORT_WORDS,
        waiting=_waiting() if may(Permission.IMPORT) else (),
        backups=backup_state(running().settings, now=now()),
        photographs=count_photographs(db()),
        today=today(),
    )


@blueprint.route("/history")
@allow(Permission.KEEP_BACKUPS)
def history() -> ResponseReturnValue:
    """Show who changed what, newest first, a page at a time."""
    before = request.args.get("before", type=int)
    lines = list_recent_history(db(), zone=nursery().zone, before=before, limit=_HISTORY_PAGE + 1)
    shown = lines[:_HISTORY_PAGE]
    return render_template(
        "records/history.html",
        lines=shown,
        begun=before is not None,
        following=shown[-1].sequence if len(lines) > _HISTORY_PAGE else None,
        today=today(),
    )


@blueprint.route("/backup")
@allow(Permission.KEEP_BACKUPS)
def backup() -> ResponseReturnValue:
    """Send a checked copy of the whole log, to be kept elsewhere."""
    with TemporaryDirectory() as folder:
        made = write_backup(running().settings, file=Path(folder), now=now())
        file = TemporaryFile()  # noqa: SIM115 - the answer closes it once it is sent
        with made.open("rb") as copy:
            while piece := copy.read(1024 * 1024):
                file.write(piece)
    file.seek(0)
    return send_file(
        file,
        mimetype="application/octet-stream",
        as_attachment=True,
        download_name=made.name,
    )


def _waiting() -> tuple[object, ...]:
    return tuple(stage for stage in list_stages(db()) if stage.state == "waiting")
