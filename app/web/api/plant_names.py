"""Suggestions while a plant's name or a stock plant's code is typed."""

from typing import Final

from flask import Blueprint, jsonify, request
from flask.typing import ResponseReturnValue

from app.domain.permissions import Permission
from app.store.queries.plant_names import find_plant_names
from app.web.permissions import allow
from app.web.requests import db

blueprint = Blueprint("api_plant_names", __name__, url_prefix="/api/plant-names")

MOST: Final = 12
LONGEST: Final = 200


@blueprint.route("")
@allow(Permission.READ)
def suggest() -> ResponseReturnValue:
    """Answer the names that hold every word of `q` as a JSON list, those that begin so first."""
    text = request.args.get("q", "")[:LONGEST]
    return jsonify(find_plant_names(db(), text=text, limit=MOST) if text.strip() else [])
