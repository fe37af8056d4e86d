"""Pages of the mixes: the list, one with its versions and batches, a new one, a change."""

from flask import Blueprint, Response, render_template, request, url_for
from flask.typing import ResponseReturnValue
from sqlalchemy.orm import Session

from app.domain.mix_lines import parts_lines
from app.domain.mixes import IngredientVolume, ingredient_volumes, parse_litres
from app.domain.permissions import Permission
from app.domain.problems import NotAccepted
from app.services.mixes import add_mix, change_mix, retire_mix
from app.store.queries.mix_lots import find_measured_shrinkage, list_mix_lots
from app.store.queries.mixes import (
    KnownMix,
    KnownVersion,
    get_mix,
    list_batches_in_mix,
    list_ingredients,
    list_mixes,
)
from app.web.forms.base import VersionedForm
from app.web.forms.mixes import MixForm
from app.web.permissions import allow
from app.web.requests import actor, db, now, press, status_of, submit, today
from app.web.results import Saved

blueprint = Blueprint("mixes", __name__, url_prefix="/mixes")


@blueprint.route("")
@allow(Permission.READ)
def show_all() -> ResponseReturnValue:
    """List every mix, the ones out of use last."""
    mixes = sorted(list_mixes(db(), retired=True), key=lambda mix: mix.retired)
    return render_template("mixes/list.html", mixes=mixes)


@blueprint.route("/new", methods=["GET", "POST"])
@allow(Permission.KEEP_REGISTERS)
def create() -> ResponseReturnValue:
    """Add a mix."""
    form = MixForm()

    def add(session: Session) -> Saved:
        entry = form.entry()
        mix_id = add_mix(session, actor=actor(), now=now(), entry=entry)
        return Saved(
            location=url_for("mixes.show", mix_id=mix_id),
            message=f"The mix {' '.join(entry.name.split())} is saved.",
            next=url_for("mixes.create"),
            next_words="Another mix",
        )

    return submit(form, add) or _edit_page(form, mix=None)


@blueprint.route("/<int:mix_id>")
@allow(Permission.READ)
def show(mix_id: int) -> ResponseReturnValue:
    """Show a mix: its recipe, its versions, what was stuck in it, and litres worked out."""
    mix = get_mix(db(), mix_id=mix_id)
    typed = request.args.get("litres", "")
    volumes: tuple[IngredientVolume, ...] = ()
    refusal = ""
    measured = find_measured_shrinkage(db(), mix_version_id=mix.newest.id)
    share = measured.share if measured else mix.newest.shrinkage_share
    try:
        volumes = _volumes(mix.newest, typed, share=share or 0.0)
    except NotAccepted as refused:
        refusal = refused.problems[0].sentence
    page = render_template(
        "mixes/show.html",
        mix=mix,
        batches=list_batches_in_mix(db(), mix_id=mix_id),
        litres=typed,
        measured=measured,
        share=share,
        lots=list_mix_lots(db(), mix_id=mix_id, limit=20),
        volumes=volumes,
        going_in=sum(volume.litres for volume in volumes),
        refusal=refusal,
        today=today(),
        button=VersionedForm(version=mix.version),
    )
    return page, 422 if refusal else 200


@blueprint.route("/<int:mix_id>/edit", methods=["GET", "POST"])
@allow(Permission.KEEP_REGISTERS)
def edit(mix_id: int) -> ResponseReturnValue:
    """Change a mix; a recipe in use becomes the next version."""
    mix = get_mix(db(), mix_id=mix_id)
    form = MixForm(data=_typed(mix))

    def change(session: Session) -> Saved:
        entry = form.entry()
        number = change_mix(
            session,
            actor=actor(),
            now=now(),
            mix_id=mix_id,
            version=form.version.data,
            entry=entry,
        )
        return Saved(
            location=url_for("mixes.show", mix_id=mix_id),
            message=f"The mix {' '.join(entry.name.split())} is saved, version {number} holds now.",
        )

    return submit(form, change) or _edit_page(form, mix=mix)


@blueprint.route("/<int:mix_id>/retire", methods=["POST"])
@allow(Permission.KEEP_REGISTERS)
def retire(mix_id: int) -> Response:
    """Take a mix out of use."""
    return _set_retired(mix_id, retired=True)


@blueprint.route("/<int:mix_id>/restore", methods=["POST"])
@allow(Permission.KEEP_REGISTERS)
def restore(mix_id: int) -> Response:
    """Put a mix back into use."""
    return _set_retired(mix_id, retired=False)


def _set_retired(mix_id: int, *, retired: bool) -> Response:
    mix = get_mix(db(), mix_id=mix_id)
    version = request.form.get("version", type=int)

    def change(session: Session) -> Saved:
        retire_mix(
            session,
            actor=actor(),
            now=now(),
            mix_id=mix_id,
            version=mix.version if version is None else version,
            retired=retired,
        )
        back = "mixes.restore" if retired else "mixes.retire"
        return Saved(
            location=url_for("mixes.show", mix_id=mix_id),
            message=f"{mix.name} is {'out of' if retired else 'back in'} use.",
            undo=url_for(back, mix_id=mix_id),
        )

    return press(change)


def _edit_page(form: MixForm, *, mix: KnownMix | None) -> ResponseReturnValue:
    page = render_template(
        "mixes/edit.html", form=form, mix=mix, ingredients=list_ingredients(db())
    )
    return page, status_of(form)


def _volumes(version: KnownVersion, typed: str, *, share: float) -> tuple[IngredientVolume, ...]:
    litres = parse_litres(typed)
    if litres is None or not version.parts:
        return ()
    return ingredient_volumes(version.parts, litres=litres, shrinkage_share=share)


def _typed(mix: KnownMix) -> dict[str, object]:
    newest = mix.newest
    share = newest.shrinkage_share
    return {
        "name": mix.name,
        "parts": parts_lines(newest.parts),
        "shrinkage": "" if share is None else f"{share * 100:g}",
        "notes": newest.notes,
        "version": mix.version,
    }
