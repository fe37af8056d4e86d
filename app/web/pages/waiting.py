"""The page of what waits on this device until the log has received it."""

from flask import Blueprint, render_template
from flask.typing import ResponseReturnValue

from app.domain.permissions import Permission
from app.web.permissions import allow

blueprint = Blueprint("waiting", __name__)


@blueprint.route("/waiting")
@allow(Permission.READ)
def show() -> ResponseReturnValue:
    """Show what this device keeps; its own script fills the list."""
    return render_template("waiting/show.html")
