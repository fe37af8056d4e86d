"""Pages of the method cards: the list by genus, one with its sources, a new one, a change."""

from typing import Any, Final

from flask import Blueprint, Response, render_template, request, url_for
from flask.typing import ResponseReturnValue
from sqlalchemy.orm import Session

from app.domain.genus_cautions import FOLLOW_THE_LABEL, caution_words
from app.domain.method_cards import group_says
from app.domain.permissions import Permission
from app.domain.problems import NotFound
from app.domain.published_words import ABOUT_ROWS
from app.domain.work_cautions import sticking_cautions
from app.services.method_cards import add_card, change_card, fill_card, fill_cards, retire_card
from app.store.queries.containers import list_containers
from app.store.queries.method_cards import KnownCard, get_card, list_card_versions, list_cards
from app.store.queries.mixes import list_mix_choices
from app.web.forms.base import VersionedForm
from app.web.forms.method_cards import (
    MethodCardForm,
    NewMethodCardForm,
    add_lines,
    typed_values,
)
from app.web.method_card_pages import ShownVersion, card_findings, shown_version
from app.web.permissions import allow
from app.web.requests import actor, db, now, nursery, press, status_of, submit, today
from app.web.results import Saved

blueprint = Blueprint("method_cards", __name__, url_prefix="/method-cards")

# What the words of the cutting types can fill.
GUIDED: Final = ("material", "light", "aftercare", "checks", "steps", "troubles")


@blueprint.route("")
@allow(Permission.READ)
def show_all() -> ResponseReturnValue:
    """List the cards by genus, or those that a search finds."""
    text = request.args.get("find", "").strip()
    cards = list_cards(db(), text=text)
    rows = [
        (card, {line.group: line.words for line in shown_version(card).lines}) for card in cards
    ]
    blanks = sum(1 for card in cards if not card.retired and _has_blanks(card))
    return render_template("method_cards/list.html", rows=rows, text=text, blanks=blanks)


@blueprint.route("/new", methods=["GET", "POST"])
@allow(Permission.KEEP_REGISTERS)
def create() -> ResponseReturnValue:
    """Add a card for a genus, or for one species of it."""
    form = NewMethodCardForm()
    add_lines(form)

    def add(session: Session) -> Saved:
        entry = form.entry(hemisphere=nursery().hemisphere)
        card_id = add_card(session, actor=actor(), now=now(), entry=entry)
        return _saved(get_card(session, card_id=card_id))

    return submit(form, add) or _edit_page(form, card=None)


@blueprint.route("/<int:card_id>")
@allow(Permission.READ)
def show(card_id: int) -> ResponseReturnValue:
    """Show what a card says, each value with where it comes from, and what was found here."""
    versions = list_card_versions(db(), card_id=get_card(db(), card_id=card_id).id)
    card = versions[0]
    findings = card_findings(card)
    return render_template(
        "method_cards/show.html",
        **_around(shown_version(card)),
        versions=versions,
        findings=findings,
        about_rows=ABOUT_ROWS,
        blanks=_has_blanks(card),
        button=VersionedForm(version=card.version),
    )


@blueprint.route("/<int:card_id>/versions/<int:number>")
@allow(Permission.READ)
def show_version(card_id: int, number: int) -> ResponseReturnValue:
    """Show what a card said in one of its versions, and what that changed."""
    version = _version(card_id, number)
    return render_template(
        "method_cards/version.html",
        **_around(version),
        newest=get_card(db(), card_id=card_id).number,
    )


@blueprint.route("/<int:card_id>/sheet")
@allow(Permission.READ)
def show_sheet(card_id: int) -> ResponseReturnValue:
    """Show a card as one A4 page to print, with its cautions; of an old version if asked."""
    number = request.args.get("version", type=int)
    version = _version(card_id, number or get_card(db(), card_id=card_id).number)
    return render_template("method_cards/sheet.html", **_around(version))


@blueprint.route("/<int:card_id>/fill", methods=["POST"])
@allow(Permission.KEEP_REGISTERS)
def fill(card_id: int) -> Response:
    """Fill what a card says nothing on with what is usual for its cutting type."""

    def change(session: Session) -> Saved:
        fill_card(session, actor=actor(), now=now(), card_id=card_id)
        return _saved(get_card(session, card_id=card_id))

    return press(change)


@blueprint.route("/<int:card_id>/edit", methods=["GET", "POST"])
@allow(Permission.KEEP_REGISTERS)
def edit(card_id: int) -> ResponseReturnValue:
    """Change what a card says; the change is its next version."""
    card = get_card(db(), card_id=card_id)
    hemisphere = nursery().hemisphere
    typed = typed_values(card.values, hemisphere=hemisphere)
    form = MethodCardForm(data=typed | {"version": card.version})
    add_lines(form)

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


@blueprint.route("/fill", methods=["POST"])
@allow(Permission.KEEP_REGISTERS)
def fill_all() -> Response:
    """Fill what any card in use says nothing on with what is usual for its cutting type."""

    def change(session: Session) -> Saved:
        number = fill_cards(session, actor=actor(), now=now())
        cards = "1 card says" if number == 1 else f"{number} cards say"
        message = f"{cards} more now, each as a version of its own."
        return Saved(location=url_for("method_cards.show_all"), message=message)

    return press(change)


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


def _has_blanks(card: KnownCard) -> bool:
    """Return whether the usual words of its type could fill something of a card."""
    return not all(group_says(card.values, group=group) for group in GUIDED)


def _version(card_id: int, number: int) -> ShownVersion:
    """Return a version with what it changed.

    Raises:
        NotFound: there is no such card, or no such version of it.
    """
    versions = {each.number: each for each in list_card_versions(db(), card_id=card_id)}
    if number not in versions:
        raise NotFound("There is no such version of this method card.")
    return shown_version(versions[number], before=versions.get(number - 1))


def _around(version: ShownVersion) -> dict[str, Any]:
    """Return what stands on every page of a card."""
    card = version.card
    return {
        "card": card,
        "version": version,
        # A blank at the head, so that the first work is number 1.
        "sources": ("", *version.sources),
        "caution": caution_words(
            card.caution, applies_to=card.caution_applies_to, basis=card.caution_basis
        ),
        "follow": FOLLOW_THE_LABEL,
        "work_cautions": sticking_cautions(card.starting_values.hormone),
        "today": today(),
    }


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
