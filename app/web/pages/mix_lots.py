"""Pages of the mix lots: the list, one with what was stuck from it, making one up, correcting."""

from typing import Any, Final

from flask import Blueprint, Response, render_template, request, url_for
from flask.typing import ResponseReturnValue
from sqlalchemy.orm import Session

from app.domain.mix_lots import amount_words, lot_remarks
from app.domain.mixes import ingredient_volumes, parse_litres
from app.domain.permissions import Permission
from app.domain.problems import NotAccepted, NotFound
from app.services.mix_lots import (
    correct_mix_lot,
    empty_mix_lot,
    make_mix_lot,
    say_litres_used,
    void_mix_lot,
)
from app.store.queries.batch_choices import list_batch_choices
from app.store.queries.history import list_history
from app.store.queries.mix_lot_pottings import list_lot_pottings
from app.store.queries.mix_lots import (
    KnownMixLot,
    find_measured_shrinkage,
    get_mix_lot,
    list_lot_batches,
    list_mix_lots,
)
from app.store.queries.mixes import KnownMix, get_mix, list_mixes
from app.web.batch_filling import typed_day
from app.web.forms.mix_lots import MOST_LINES, LitresUsedForm, MixLotForm
from app.web.permissions import allow
from app.web.requests import actor, db, now, nursery, press, status_of, submit, today
from app.web.results import Saved

blueprint = Blueprint("mix_lots", __name__, url_prefix="/mix-lots")

UNDONE: Final = "taken back right after it was entered"
_NUMBERS: Final = (
    "asked_l", "litres", "medium_ec", "medium_ph", "water_ec", "water_ph", "container_ml",
    "saturation_ml", "drained_ml",
)  # fmt: skip


@blueprint.route("")
@allow(Permission.READ)
def show_all() -> ResponseReturnValue:
    """List mix lots, the newest first, those in use before the others."""
    lots = sorted(list_mix_lots(db()), key=lambda lot: lot.voided or lot.empty_on is not None)
    return render_template("mix_lots/list.html", lots=lots, mixes=list_mixes(db()), today=today())


@blueprint.route("/new", methods=["GET", "POST"])
@allow(Permission.STICK)
def create() -> ResponseReturnValue:
    """Make up a lot of a mix; ?mix= says of which, &litres= how much is wanted."""
    mix_id = request.args.get("mix", type=int)
    if mix_id is None:
        return render_template("mix_lots/choose.html", mixes=list_mixes(db()))
    mix = get_mix(db(), mix_id=mix_id)
    form = MixLotForm(data=_starting(mix))
    form.offer(people=list_batch_choices(db()).people)

    def make(session: Session) -> Saved:
        entry = form.entry(mix_version_id=mix.newest.id, today=today())
        made = make_mix_lot(session, actor=actor(), today=today(), now=now(), entry=entry)
        return Saved(
            location=url_for("mix_lots.show", code=made.code),
            message=f"{made.code} is saved: write this code on the heap or the bags.",
            undo=url_for("mix_lots.undo", code=made.code),
            next=url_for("mix_lots.create", mix=mix.id),
            next_words="Another lot of it",
        )

    return submit(form, make) or _edit_page(form, mix=mix, known=None)


@blueprint.route("/<code>")
@allow(Permission.READ)
def show(code: str) -> ResponseReturnValue:
    """Show a lot: what went in, what was measured, what was stuck from it, what is left."""
    known = get_mix_lot(db(), code=code)
    return render_template(
        "mix_lots/show.html",
        known=known,
        entry=known.entry,
        amounts=[(one, amount_words(one)) for one in known.entry.ingredients],
        remarks=list(lot_remarks(known.entry)),
        batches=list_lot_batches(db(), lot_ids=[known.id]).get(known.id, []),
        pottings=list_lot_pottings(db(), lot_ids=[known.id]).get(known.id, ()),
        history=list_history(db(), subject=f"mix lot {known.code}", zone=nursery().zone),
        today=today(),
    )


@blueprint.route("/<code>/edit", methods=["GET", "POST"])
@allow(Permission.KEEP_REGISTERS)
def edit(code: str) -> ResponseReturnValue:
    """Correct a lot."""
    known = get_mix_lot(db(), code=code)
    form = MixLotForm(data=_typed(known))
    form.offer(people=list_batch_choices(db()).people)

    def correct(session: Session) -> Saved:
        correct_mix_lot(
            session,
            actor=actor(),
            today=today(),
            now=now(),
            code=known.code,
            version=form.version.data,
            entry=form.entry(mix_version_id=known.entry.mix_version_id, today=today()),
        )
        here = url_for("mix_lots.show", code=known.code)
        return Saved(location=here, message=f"{known.code} is saved.")

    answer = submit(form, correct)
    return answer or _edit_page(form, mix=get_mix(db(), mix_id=known.mix_id), known=known)


@blueprint.route("/<code>/empty", methods=["POST"])
@allow(Permission.STICK)
def empty(code: str) -> Response:
    """Say that nothing is left of a lot."""
    return _set_empty(code, empty=True)


@blueprint.route("/<code>/reopen", methods=["POST"])
@allow(Permission.STICK)
def reopen(code: str) -> Response:
    """Say that something is left after all."""
    return _set_empty(code, empty=False)


@blueprint.route("/<code>/undo", methods=["POST"])
@allow(Permission.CORRECT_OWN)
def undo(code: str) -> Response:
    """Take back a lot that was just made up."""
    known = get_mix_lot(db(), code=code)

    def take_back(session: Session) -> Saved:
        kept: dict[str, Any] = {"actor": actor(), "today": today(), "now": now()}
        void_mix_lot(session, **kept, code=known.code, reason=UNDONE)
        here = url_for("mix_lots.show", code=known.code)
        return Saved(location=here, message=f"{known.code} is void: it stays readable.")

    return press(take_back)


@blueprint.route("/<code>/used/<batch_code>", methods=["GET", "POST"])
@allow(Permission.STICK)
def say_used(code: str, batch_code: str) -> ResponseReturnValue:
    """Say how many litres a batch used of a lot."""
    known = get_mix_lot(db(), code=code)
    batches = list_lot_batches(db(), lot_ids=[known.id]).get(known.id, [])
    batch = next((one for one in batches if one.code == batch_code), None)
    if batch is None:
        raise NotFound(f"{batch_code} was not stuck from {known.code}.")
    form = LitresUsedForm(data={"litres": _number(batch.litres)})

    def save(session: Session) -> Saved:
        say_litres_used(
            session, actor=actor(), now=now(), batch_code=batch.code, litres=form.number()
        )
        here = url_for("mix_lots.show", code=known.code)
        return Saved(location=here, message=f"The litres {batch.code} used are saved.")

    answer = submit(form, save)
    return answer or (
        render_template("mix_lots/used.html", form=form, known=known, batch=batch),
        status_of(form),
    )


def _set_empty(code: str, *, empty: bool) -> Response:
    known = get_mix_lot(db(), code=code)

    def save(session: Session) -> Saved:
        kept: dict[str, Any] = {"actor": actor(), "today": today(), "now": now()}
        empty_mix_lot(session, **kept, code=known.code, empty=empty)
        back = "mix_lots.reopen" if empty else "mix_lots.empty"
        state = "empty: it is no longer offered" if empty else "in use again"
        return Saved(
            location=url_for("mix_lots.show", code=known.code),
            message=f"{known.code} is {state}.",
            undo=url_for(back, code=known.code),
        )

    return press(save)


def _edit_page(
    form: MixLotForm, *, mix: KnownMix, known: KnownMixLot | None
) -> ResponseReturnValue:
    if request.form.get("look_again") == "lines" and len(form.ingredients) < MOST_LINES:
        form.ingredients.append_entry()
    page = render_template("mix_lots/edit.html", form=form, mix=mix, known=known)
    return page, status_of(form)


def _starting(mix: KnownMix) -> dict[str, Any]:
    """Return what a new lot is filled with: a line for each ingredient of the recipe."""
    typed = request.args.get("litres", "")
    litres: dict[str, float] = {}
    try:
        wanted = parse_litres(typed)
    except NotAccepted:
        wanted = None
    if wanted is not None:
        measured = find_measured_shrinkage(db(), mix_version_id=mix.newest.id)
        share = measured.share if measured else mix.newest.shrinkage_share or 0.0
        volumes = ingredient_volumes(mix.newest.parts, litres=wanted, shrinkage_share=share)
        litres = {volume.ingredient: round(volume.litres, 1) for volume in volumes}
    return {
        "made_on": typed_day(today()),
        "made_by": str(actor().person_id),
        "asked_l": typed if wanted is not None else "",
        "ingredients": [
            {"ingredient": part.ingredient, "amount": _number(litres.get(part.ingredient))}
            for part in mix.newest.parts
        ],
    }


def _typed(known: KnownMixLot) -> dict[str, Any]:
    entry = known.entry
    lines = [
        {
            "ingredient": one.ingredient,
            "supplier_lot": one.supplier_lot,
            "amount": amount_words(one),
        }
        for one in entry.ingredients
    ]
    return {
        "version": known.version,
        "made_on": typed_day(entry.made_on),
        "made_by": "" if entry.made_by_id is None else str(entry.made_by_id),
        "ingredients": lines or [{}],
        "extraction": entry.extraction,
        "container": entry.container,
        "notes": entry.notes,
        **{name: _number(getattr(entry, name)) for name in _NUMBERS},
    }


def _number(value: float | None) -> str:
    return "" if value is None else f"{value:.10g}"
