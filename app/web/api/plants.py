"""Plants offered while one is typed: names, and stock plants by their code or name."""

from typing import Any, Final

from flask import Blueprint, jsonify, request
from flask.typing import ResponseReturnValue

from app.domain.permissions import Permission
from app.store.queries.plant_names import find_plant_names
from app.store.queries.stock_plants import find_stock_plants
from app.web.permissions import allow
from app.web.requests import db, today

blueprint = Blueprint("plants", __name__, url_prefix="/api/plants")

MOST: Final = 12
SHORTEST: Final = 2


@blueprint.route("")
@allow(Permission.READ)
def suggest() -> ResponseReturnValue:
    """Return the plants that the text `q` may become, as texts or as values with a label."""
    text = " ".join(request.args.get("q", "").split())
    if len(text) < SHORTEST:
        return jsonify([])
    plants = find_stock_plants(db(), text=text, on=today(), limit=MOST)
    offered: list[Any] = [*find_plant_names(db(), text=text, limit=MOST)]
    offered += [{"value": plant.code, "label": plant.plant} for plant in plants]
    return jsonify(offered)
