"""Pages of the stock plants: the list, one with what was taken from it, new, correct, discard."""

from collections.abc import Sequence
from datetime import datetime
from typing import Final
from urllib.parse import urlencode
from zoneinfo import ZoneInfo

from flask import Blueprint, Response, render_template, request, url_for
from flask.typing import ResponseReturnValue
from sqlalchemy.orm import Session
from wtforms import SelectChoice

from app.domain.cut_yields import CutYield, yield_sentence
from app.domain.genus_cautions import FOLLOW_THE_LABEL, caution_words
from app.domain.lines import Member, MemberKind
from app.domain.permissions import Permission, allowed
from app.domain.problems import NotAccepted
from app.domain.stock_plant_events import FOR_ALL, EventKind, plants_on
from app.domain.stock_plant_states import state_remarks
from app.domain.stock_plants import StockPlantEntry
from app.services.plant_names import keep_typed_plant
from app.services.stock_plants import (
    add_stock_plant,
    correct_stock_plant,
    discard_stock_plant,
    reinstate_stock_plant,
)
from app.store.queries.batches import find_batch_id
from app.store.queries.benches import list_benches
from app.store.queries.genera import get_genus
from app.store.queries.history import list_history
from app.store.queries.holds import list_holds_of
from app.store.queries.photographs import list_photographs_of_stock_plant
from app.store.queries.stock_plant_cuts import CuttingDay, list_cutting_days
from app.store.queries.stock_plant_events import KnownEvent, list_events
from app.store.queries.stock_plants import (
    KnownStockPlant,
    StockPlantPage,
    StockPlantsIn,
    get_stock_plant,
    list_stock_plants,
)
from app.store.queries.treatments import list_treatments_of_stock_plant
from app.web.batch_filling import typed_day
from app.web.forms.stock_plant_events import EVENT_WORDS
from app.web.forms.stock_plants import (
    DiscardForm,
    FoundRecords,
    NewStockPlantForm,
    StockPlantForm,
)
from app.web.permissions import allow
from app.web.requests import actor, db, moment, now, nursery, press, status_of, submit, today
from app.web.results import Saved

blueprint = Blueprint("stock_plants", __name__, url_prefix="/stock-plants")

UNDONE: Final = "taken back right after it was entered"


@blueprint.route("")
@allow(Permission.READ)
def show_all() -> ResponseReturnValue:
    """List stock plants by code, by state and by words of their names."""
    text = " ".join(request.args.get("find", "").split())
    asked = request.args.get("state", "")
    wanted = StockPlantsIn(asked) if asked in set(StockPlantsIn) else StockPlantsIn.KEPT
    page = list_stock_plants(
        db(),
        on=today(),
        moment=moment(),
        wanted=wanted,
        text=text,
        after=request.args.get("after", type=int),
        before=request.args.get("before", type=int),
    )
    return render_template(
        "stock_plants/list.html",
        page=page,
        text=text,
        wanted=wanted,
        states=list(StockPlantsIn),
        pages=_neighbours(page, text=text, wanted=wanted),
        today=today(),
    )


@blueprint.route("/new", methods=["GET", "POST"])
@allow(Permission.KEEP_REGISTERS)
def create() -> ResponseReturnValue:
    """Add a stock plant."""
    form = NewStockPlantForm()
    _offer_benches(form, known=None)

    def add(session: Session) -> Saved:
        added = add_stock_plant(
            session, actor=actor(), today=today(), now=now(), entry=_entry(session, form)
        )
        here = url_for("stock_plants.show", code=added.code)
        return Saved(
            location=here,
            message=f"{added.code} is saved: write this code on its label.",
            undo=url_for("stock_plants.undo", code=added.code),
            next=url_for("stock_plants.create"),
            next_words="Another stock plant",
        )

    answer = submit(form, add)
    return answer or (
        render_template("stock_plants/edit.html", form=form, known=None),
        status_of(form),
    )


@blueprint.route("/<code>")
@allow(Permission.READ)
def show(code: str) -> ResponseReturnValue:
    """Show a stock plant, what was taken from it, and its history."""
    known = get_stock_plant(db(), code=code)
    genus = get_genus(db(), name=known.genus)
    standing = known.standing(today(), moment=moment())
    events = list_events(db(), stock_plant_id=known.id)
    cutting_days = list_cutting_days(db(), stock_plant_id=known.id)
    yields = _yields(known, cutting_days, events)
    return render_template(
        "stock_plants/show.html",
        known=known,
        standing=standing,
        holds=list_holds_of(db(), member=Member(kind=MemberKind.STOCK_PLANT, id=known.id)),
        genus=genus.name,
        caution=caution_words(
            genus.caution, applies_to=genus.caution_applies_to, basis=genus.caution_basis
        ),
        follow=FOLLOW_THE_LABEL,
        remarks=list(state_remarks(known.facts, standing=standing, day=today(), moment=moment())),
        reentry_at=_reentry_at(known.entry),
        treatments=list_treatments_of_stock_plant(db(), stock_plant_id=known.id),
        cutting_days=cutting_days,
        yields=yields,
        yield_words=yield_sentence(yields, expected=known.entry.expected_per_plant),
        events=events,
        event_words=EVENT_WORDS,
        kinds=_kinds(),
        photographs=list_photographs_of_stock_plant(db(), stock_plant_id=known.id),
        history=list_history(db(), subject=f"stock plant {known.code}", zone=nursery().zone),
        today=today(),
    )


@blueprint.route("/<code>/edit", methods=["GET", "POST"])
@allow(Permission.KEEP_REGISTERS)
def edit(code: str) -> ResponseReturnValue:
    """Correct a stock plant."""
    known = get_stock_plant(db(), code=code)
    form = StockPlantForm(data=_typed(known))
    _offer_benches(form, known=known)

    def correct(session: Session) -> Saved:
        correct_stock_plant(
            session,
            actor=actor(),
            today=today(),
            now=now(),
            stock_plant_id=known.id,
            version=form.version.data,
            entry=_entry(session, form),
        )
        return Saved(
            location=url_for("stock_plants.show", code=known.code),
            message=f"{known.code} is saved.",
        )

    answer = submit(form, correct)
    return answer or (
        render_template("stock_plants/edit.html", form=form, known=known),
        status_of(form),
    )


@blueprint.route("/<code>/discard", methods=["GET", "POST"])
@allow(Permission.KEEP_REGISTERS)
def discard(code: str) -> ResponseReturnValue:
    """Discard a stock plant, with day and reason."""
    known = get_stock_plant(db(), code=code)
    form = DiscardForm(data={"version": known.version, "discarded_on": "today"})

    def save(session: Session) -> Saved:
        return _discard(session, known, form.version.data, form)

    answer = submit(form, save)
    return answer or (
        render_template("stock_plants/discard.html", form=form, known=known),
        status_of(form),
    )


@blueprint.route("/<code>/undo", methods=["POST"])
@allow(Permission.KEEP_REGISTERS)
def undo(code: str) -> Response:
    """Take back a stock plant that was just entered."""
    known = get_stock_plant(db(), code=code)

    def save(session: Session) -> Saved:
        discard_stock_plant(
            session,
            actor=actor(),
            today=today(),
            now=now(),
            stock_plant_id=known.id,
            version=known.version,
            discarded_on=today(),
            reason=UNDONE,
        )
        return _discarded(known)

    return press(save)


@blueprint.route("/<code>/keep", methods=["POST"])
@allow(Permission.KEEP_REGISTERS)
def keep(code: str) -> Response:
    """Take back that a stock plant was discarded."""
    known = get_stock_plant(db(), code=code)

    def save(session: Session) -> Saved:
        reinstate_stock_plant(
            session, actor=actor(), today=today(), now=now(), stock_plant_id=known.id
        )
        return Saved(
            location=url_for("stock_plants.show", code=known.code),
            message=f"{known.code} is kept after all; it is watched until somebody has looked.",
        )

    return press(save)


def _discard(session: Session, known: KnownStockPlant, version: int, form: DiscardForm) -> Saved:
    discard_stock_plant(
        session,
        actor=actor(),
        today=today(),
        now=now(),
        stock_plant_id=known.id,
        version=version,
        discarded_on=form.day(today=today()),
        reason=form.reason.data or "",
    )
    return _discarded(known)


def _discarded(known: KnownStockPlant) -> Saved:
    return Saved(
        location=url_for("stock_plants.show", code=known.code),
        message=f"{known.code} is discarded; it stays readable.",
        undo=url_for("stock_plants.keep", code=known.code),
    )


def _yields(
    known: KnownStockPlant, days: Sequence[CuttingDay], events: Sequence[KnownEvent]
) -> tuple[CutYield, ...]:
    """Return what each day of cutting gave, by the number of plants there were then."""
    counts = [
        (shown.event.happened_on, shown.event.plants)
        for shown in reversed(events)
        if shown.event.plants is not None and shown.withdrawn_at is None
    ]
    return tuple(
        CutYield(
            cut_on=day.cut_on,
            number=day.number,
            plants=plants_on(day.cut_on, counts=counts) or known.entry.plants,
        )
        for day in days
    )


def _kinds() -> tuple[EventKind, ...]:
    """Return what this person may write down, the most usual first."""
    if allowed(actor().role, Permission.KEEP_REGISTERS):
        return (*FOR_ALL, *(kind for kind in EventKind if kind not in FOR_ALL))
    return FOR_ALL if allowed(actor().role, Permission.CHECK) else ()


def _entry(session: Session, form: StockPlantForm) -> StockPlantEntry:
    found = FoundRecords(
        plant_name_id=lambda: keep_typed_plant(
            session,
            actor=actor(),
            now=now(),
            typed=form.plant.data or "",
            confirmed=form.as_typed.data or "",
        ),
        raised_from_id=lambda: _batch_id(session, form.raised_from.data or ""),
    )
    return form.entry(found=found, today=today(), zone=nursery().zone)


def _batch_id(session: Session, typed: str) -> int | None:
    if not typed.strip():
        return None
    found = find_batch_id(session, code=typed)
    if found is None:
        sentence = f"There is no batch {typed.strip()}. Its code is like 26-0147."
        raise NotAccepted.at("raised_from", sentence)
    return found


def _offer_benches(form: StockPlantForm, *, known: KnownStockPlant | None) -> None:
    """Offer the benches in use, and the one it stands on even if that is closed."""
    here = known.entry.bench_id if known else None
    form.offer_benches(
        [
            SelectChoice(str(bench.id), bench.name)
            for bench in list_benches(db(), closed=True)
            if not bench.closed or bench.id == here
        ]
    )


def _neighbours(page: StockPlantPage, *, text: str, wanted: StockPlantsIn) -> dict[str, str | None]:
    """Return the addresses of the pages before and after."""

    def address(beside: str, number: int) -> str:
        kept = {"find": text, "state": wanted.value, beside: str(number)}
        return f"{url_for('stock_plants.show_all')}?{urlencode(kept)}"

    return {
        "earlier": address("before", page.lines[0].number) if page.earlier and page.lines else None,
        "later": address("after", page.lines[-1].number) if page.later and page.lines else None,
    }


def _reentry_at(entry: StockPlantEntry) -> datetime | None:
    """Return the re-entry time by the nursery's clock."""
    at = entry.reentry_at
    return at.astimezone(ZoneInfo(nursery().zone)) if at else None


def _typed(known: KnownStockPlant) -> dict[str, object]:
    entry = known.entry
    reentry_at = _reentry_at(entry)
    return {
        "plant": known.plant,
        "bench": "" if entry.bench_id is None else str(entry.bench_id),
        "state": entry.state.value,
        "state_reason": entry.state_reason,
        "origin": entry.origin.value,
        "raised_from": known.raised_from,
        "supplier": entry.supplier,
        "supplier_reference": entry.supplier_reference,
        "rest_weeks": "" if entry.rest_weeks is None else str(entry.rest_weeks),
        "expected_per_plant": ""
        if entry.expected_per_plant is None
        else f"{entry.expected_per_plant:g}",
        "flowering": {None: "", True: "yes", False: "no"}[entry.flowering],
        "reentry_on": typed_day(reentry_at.date()) if reentry_at else "",
        "reentry_time": f"{reentry_at:%H:%M}" if reentry_at else "",
        "notes": entry.notes,
        "version": known.version,
        "came_on": typed_day(entry.came_on),
    }
