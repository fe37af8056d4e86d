"""What a method card fills in, and what is usual, while a plant and a cutting type are chosen."""

from dataclasses import asdict

from flask import Blueprint, jsonify, request
from flask.typing import ResponseReturnValue

from app.domain.permissions import Permission
from app.store.queries.batch_choices import list_batch_choices
from app.web.batch_cards import shown_card
from app.web.forms.batches import BatchForm
from app.web.hints import hint_texts
from app.web.permissions import allow
from app.web.requests import db, nursery, today

blueprint = Blueprint("starting_values", __name__, url_prefix="/api/starting-values")


@blueprint.route("")
@allow(Permission.STICK)
def show() -> ResponseReturnValue:
    """Return the card for `plant` and `cutting_type`: summary, texts by field, hints, cautions."""
    card = shown_card(
        db(),
        plant=request.args.get("plant", ""),
        cutting_type=request.args.get("cutting_type", ""),
        choices=list_batch_choices(db()),
        hemisphere=nursery().hemisphere,
        today=today(),
    )
    hints = hint_texts(BatchForm(formdata=None), usual=card.hints)
    return jsonify(asdict(card) | {"hints": hints})
