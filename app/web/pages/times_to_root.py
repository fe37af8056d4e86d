"""Pages of times to root: every genus and type, and one with its curve.

Whatever needs numpy is loaded when the first of these pages is asked for.
"""

from typing import TYPE_CHECKING

from flask import Blueprint, render_template, request
from flask.typing import ResponseReturnValue

from app.domain.cutting_types import CuttingType
from app.domain.permissions import Permission
from app.domain.problems import NotFound
from app.store.queries.check_plans import get_genus_name
from app.store.queries.fits import count_settled
from app.store.queries.genera import genus_names
from app.web.learning import learned_fit
from app.web.permissions import allow
from app.web.requests import db

if TYPE_CHECKING:
    from app.domain.nursery_fits import NurseryFit

blueprint = Blueprint("times_to_root", __name__, url_prefix="/times-to-root")


@blueprint.route("")
@allow(Permission.READ)
def show_all() -> ResponseReturnValue:
    """List how long cuttings take to root, by genus and type."""
    fit = learned_fit()
    if fit is None:
        return render_template("times_to_root/list.html", finished=count_settled(db()))
    from app.web.rooting_lists import rooting_rows  # noqa: PLC0415 - loads numpy

    whole, rows = rooting_rows(fit, names=genus_names(db()))
    return render_template("times_to_root/list.html", whole=whole, rows=rows)


@blueprint.route("/<int:genus_id>")
@allow(Permission.READ)
def show(genus_id: int) -> ResponseReturnValue:
    """Show the curve of a genus, or of its type named in the address, and the counts behind it."""
    genus = get_genus_name(db(), genus_id=genus_id)
    kind = _kind(request.args.get("type"))
    fit = learned_fit()
    if fit is None:
        return render_template("times_to_root/list.html", finished=count_settled(db()))
    return _one(fit, genus_id=genus_id, genus=genus, kind=kind)


def _one(fit: "NurseryFit", *, genus_id: int, genus: str, kind: str | None) -> ResponseReturnValue:
    from app.store.queries.rooting_records import read_rooting_records  # noqa: PLC0415 - as above
    from app.web.rooting_lists import told_group  # noqa: PLC0415 - loads numpy

    records = read_rooting_records(db(), genus_id=genus_id, cutting_type=kind)
    told = told_group(fit, records, genus_id=genus_id, genus=genus, kind=kind)
    return render_template("times_to_root/show.html", genus=genus, kind=kind, told=told)


def _kind(typed: str | None) -> str | None:
    """Return the type asked for, "" for not recorded, None for every type.

    Raises:
        NotFound: there is no such type.
    """
    if typed is None or typed in {kind.value for kind in CuttingType}:
        return typed
    if typed == "":
        return typed
    raise NotFound("There is no such cutting type.")
