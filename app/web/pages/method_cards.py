"""Pages of the method cards: the list by genus, one with its sources, a new one, a change."""

from flask import Blueprint, Response, render_template, request, url_for
from flask.typing import ResponseReturnValue
from sqlalchemy.orm import Session

from app.domain.genus_cautions import FOLLOW_THE_LABEL, caution_words
from app.domain.method_card_words import CardLine, card_lines, card_sources
from app.domain.permissions import Permission
from app.domain.work_cautions import sticking_cautions
from app.services.method_cards import add_card, change_card, retire_card
from app.store.queries.containers import list_containers
from app.store.queries.method_cards import KnownCard, get_card, list_card_versions, list_cards
from app.store.queries.mixes import list_mix_choices
from app.web.forms.base import VersionedForm
from app.web.forms.method_cards import MethodCardForm, NewMethodCardForm, typed_values
from app.web.permissions import allow
from app.web.requests import actor, db, now, nursery, press, status_of, submit, today
from app.web.results import Saved

blueprint = Blueprint("method_cards", __name__, url_prefix="/method-cards")


@blueprint.route("")
@allow(Permission.READ)
def show_all() -> ResponseReturnValue:
    """List the cards by genus, or those that a search finds."""
    text = request.args.get("find", "").strip()
    cards = list_cards(db(), text=text)
    rows = [(card, {line.group: line.words for line in _lines(card)}) for card in cards]
    return render_template("method_cards/list.html", rows=rows, text=text)


@blueprint.route("/new", methods=["GET", "POST"])
@allow(Permission.KEEP_REGISTERS)
def create() -> ResponseReturnValue:
    """Add a card for a genus, or for one species of it."""
    form = NewMethodCardForm()

    def add(session: Session) -> Saved:
        entry = form.entry(hemisphere=nursery().hemisphere)
        card_id = add_card(session, actor=actor(), now=now(), entry=entry)
        return _saved(get_card(session, card_id=card_id))

    return submit(form, add) or _edit_page(form, card=None)


@blueprint.route("/<int:card_id>")
@allow(Permission.READ)
def show(card_id: int) -> ResponseReturnValue:
    """Show what a card says, each value with where it comes from, and its earlier versions."""
    card = get_card(db(), card_id=card_id)
    versions = [(version, _lines(version)) for version in list_card_versions(db(), card_id=card_id)]
    return render_template(
        "method_cards/show.html",
        card=card,
        lines=versions[0][1],
        # A blank at the head, so that the first work is number 1.
        sources=("", *card_sources(versions[0][1])),
        versions=versions,
        caution=caution_words(
            card.caution, applies_to=card.caution_applies_to, basis=card.caution_basis
        ),
        follow=FOLLOW_THE_LABEL,
        work_cautions=sticking_cautions(card.starting_values.hormone),
        button=VersionedForm(version=card.version),
        today=today(),
    )


@blueprint.route("/<int:card_id>/edit", methods=["GET", "POST"])
@allow(Permission.KEEP_REGISTERS)
def edit(card_id: int) -> ResponseReturnValue:
    """Change what a card says; the change is its next version."""
    card = get_card(db(), card_id=card_id)
    hemisphere = nursery().hemisphere
    typed = typed_values(card.values, hemisphere=hemisphere)
    form = MethodCardForm(data=typed | {"version": card.version})

    def change(session: Session) -> Saved:
        change_card(
            session,
            actor=actor(),
            now=now(),
            card_id=card_id,
            version=form.version.data,
            values=form.values(hemisphere=hemisphere),
        )
        return _saved(get_card(session, card_id=card_id))

    return submit(form, change) or _edit_page(form, card=card)


@blueprint.route("/<int:card_id>/retire", methods=["POST"])
@allow(Permission.KEEP_REGISTERS)
def retire(card_id: int) -> Response:
    """Take a card out of use."""
    return _set_retired(card_id, retired=True)


@blueprint.route("/<int:card_id>/restore", methods=["POST"])
@allow(Permission.KEEP_REGISTERS)
def restore(card_id: int) -> Response:
    """Put a card back into use."""
    return _set_retired(card_id, retired=False)


def _set_retired(card_id: int, *, retired: bool) -> Response:
    card = get_card(db(), card_id=card_id)
    version = request.form.get("version", type=int)

    def change(session: Session) -> Saved:
        retire_card(
            session,
            actor=actor(),
            now=now(),
            card_id=card_id,
            version=card.version if version is None else version,
            retired=retired,
        )
        back = "method_cards.restore" if retired else "method_cards.retire"
        return Saved(
            location=url_for("method_cards.show", card_id=card_id),
            message=f"The card is {'out of' if retired else 'back in'} use.",
            undo=url_for(back, card_id=card_id),
        )

    return press(change)


def _lines(card: KnownCard) -> tuple[CardLine, ...]:
    return card_lines(
        card.values,
        cutting_type=card.cutting_type,
        standings=card.standings,
        hemisphere=nursery().hemisphere,
    )


def _saved(card: KnownCard) -> Saved:
    return Saved(
        location=url_for("method_cards.show", card_id=card.id),
        message=f"The card of {card.plant}, {card.cutting_type.value}, is saved: version "
        f"{card.number} holds now.",
    )


def _edit_page(form: MethodCardForm, *, card: KnownCard | None) -> ResponseReturnValue:
    page = render_template(
        "method_cards/edit.html",
        form=form,
        card=card,
        mixes=list_mix_choices(db()),
        containers=list_containers(db()),
    )
    return page, status_of(form)
