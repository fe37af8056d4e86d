"""Pages on which a batch is entered: sticking one, sticking another like it, correcting one."""

from dataclasses import dataclass, replace
from typing import Any, Final

from flask import Blueprint, render_template, request, url_for
from flask.typing import ResponseReturnValue
from sqlalchemy.orm import Session

from app.domain.batch_stories import what_stuck
from app.domain.batches import BatchEntry, copy_of, restuck_copy_of
from app.domain.genus_cautions import FOLLOW_THE_LABEL
from app.domain.outcomes import last_callused
from app.domain.permissions import Permission
from app.domain.work_cautions import sticking_cautions
from app.services.batches import StuckBatch, correct_batch, stick_batch
from app.services.label_numbers import put_label_on
from app.services.order_batches import count_stuck
from app.services.waited_entries import keep_waited
from app.store.queries.batch_choices import BatchChoices, list_batch_choices
from app.store.queries.batch_guides import list_batch_advisories
from app.store.queries.batch_links import newest_mix_version_id
from app.store.queries.batch_lists import list_recent_plants
from app.store.queries.batch_ways import find_rootstock
from app.store.queries.batches import find_batch_id, find_latest_batch, get_batch
from app.store.queries.bench_batches import get_bench_name
from app.store.queries.bench_stands import get_bench_load
from app.store.queries.checks import counts_by_batch
from app.store.queries.orders import find_order_of_batch, get_order, list_open_orders
from app.web.batch_access import refuse_foreign
from app.web.batch_cards import ShownCard, shown_card
from app.web.batch_filling import (
    add_source_line,
    fill_from_card,
    offer,
    typed_batch,
    typed_day,
)
from app.web.batch_reading import read_batch
from app.web.forms.batches import BatchCorrectionForm, BatchForm, BatchStickForm
from app.web.hints import hint_texts
from app.web.order_choices import chosen_order, order_choices
from app.web.permissions import allow
from app.web.requests import (
    actor,
    day_meant,
    db,
    now,
    nursery,
    status_of,
    submit,
    today,
    waited,
)
from app.web.results import Saved

blueprint = Blueprint("sticking", __name__, url_prefix="/batches")

RECENT_PLANTS: Final = 12
AGAIN: Final = "again"


@dataclass(frozen=True, kw_only=True)
class Start:
    """What a form begins with: its texts, and the batch it is like, if any."""

    texts: dict[str, Any]
    like: str = ""
    kept: BatchEntry | None = None


@blueprint.route("/new", methods=["GET", "POST"])
@allow(Permission.STICK)
def create() -> ResponseReturnValue:
    """Stick a batch: a new one, or one like another."""
    again_from = request.args.get("restick", "").strip()
    if again_from:
        start = _restick(db(), code=again_from)
    else:
        start = start_like(db(), like=request.args.get("like", "").strip())
    tag = request.args.get("tag", "").strip()
    form = BatchStickForm(data=start.texts | ordered(start) | {"tag": tag})
    choices = list_batch_choices(db(), kept=start.kept)
    offer(form, choices=choices)
    orders = list_open_orders(db())
    form.order.choices = order_choices(orders, today=today())
    answer = submit(form, lambda session: stick_typed(session, form, again=AGAIN in request.form))
    if answer:
        return answer
    card = looked_again(form, choices)
    page = render_template(
        "batches/new.html",
        form=form,
        like=start.like,
        restick=again_from,
        in_a_run=AGAIN in request.args,
        orders=orders,
        last=find_latest_batch(db(), recorded_by_id=actor().person_id),
        **around(form, card, choices),
    )
    return page, status_of(form)


@blueprint.route("/<code>/edit", methods=["GET", "POST"])
@allow(Permission.CORRECT_OWN)
def edit(code: str) -> ResponseReturnValue:
    """Correct what was entered of a batch."""
    batch = get_batch(db(), code=code)
    refuse_foreign(batch)
    typed = typed_batch(batch.entry, story=batch, rootstock=_rootstock(batch.entry))
    texts = typed | {"version": batch.version}
    form = BatchCorrectionForm(data=texts)
    choices = list_batch_choices(db(), kept=batch.entry)
    offer(form, choices=choices)

    def save(session: Session) -> Saved:
        read = read_batch(session, form=form, actor=actor(), today=today(), now=now())
        # What the notebook or sheet it came from is called is no field of the form.
        entry = replace(read.entry, reference_source=batch.entry.reference_source)
        with read.lines_as_typed():
            correct_batch(
                session,
                actor=actor(),
                today=today(),
                now=now(),
                batch_id=batch.id,
                version=form.version.data,
                entry=entry,
                reason=(form.reason.data or "").strip(),
            )
        return Saved(
            location=url_for("batches.show", code=batch.code), message=f"{batch.code} is corrected."
        )

    answer = submit(form, save)
    if answer:
        return answer
    card = looked_again(form, choices)
    page = render_template(
        "batches/edit.html", form=form, batch=batch, **around(form, card, choices)
    )
    return page, status_of(form)


def start_like(session: Session, *, like: str) -> Start:
    """Return what a form begins with: blank for today, or as another batch but for its numbers."""
    if not like:
        return Start(texts={"stuck_on": typed_day(today()), "stuck_by": str(actor().person_id)})
    story = get_batch(session, code=like)
    entry = copy_of(story.entry, today=today())
    if entry.mix_lot_id is None and entry.mix_version_id is not None:
        newest = newest_mix_version_id(session, mix_version_id=entry.mix_version_id)
        entry = replace(entry, mix_version_id=newest)
    entry = replace(entry, stuck_by_id=actor().person_id)
    texts = typed_batch(entry, story=story, rootstock=_rootstock(entry))
    return Start(texts=texts, like=story.code, kept=story.entry)


def ordered(start: Start) -> dict[str, str]:
    """Return what an order says of a new batch: the one asked for, or the one the batch like it
    counts to while that is open.
    """
    number = request.args.get("order", type=int)
    if number is not None:
        order = get_order(db(), number=number)
        return {"plant": order.plant, "order": str(number)}
    like_id = find_batch_id(db(), code=start.like) if start.like else None
    counted = None if like_id is None else find_order_of_batch(db(), batch_id=like_id)
    return {"order": str(counted.number)} if counted is not None and counted.is_open else {}


def _restick(session: Session, *, code: str) -> Start:
    """Return the start for the callused ones of a batch, stuck today as a batch of their own."""
    story = get_batch(session, code=code)
    entry = restuck_copy_of(story.entry, batch_id=story.id, today=today())
    callused = last_callused(counts_by_batch(session, batch_ids=[story.id]).get(story.id, ()))
    number = min(callused, story.left_to_restick) if callused else 0
    entry = replace(entry, stuck=number, stuck_by_id=actor().person_id)
    texts = typed_batch(
        entry,
        story=replace(story, sources=(), restuck_from=story.code),
        rootstock=_rootstock(entry),
    )
    return Start(texts=texts, kept=story.entry)


def _rootstock(entry: BatchEntry) -> str:
    return find_rootstock(db(), rootstock_id=entry.details.rootstock_id)


def looked_again(form: BatchForm, choices: BatchChoices) -> ShownCard:
    """Do what a button that only shows the page again asked for, and return the card to show."""
    card = shown_card(
        db(),
        plant=form.plant.data or "",
        cutting_type=form.cutting_type.data or "",
        choices=choices,
        hemisphere=nursery().hemisphere,
        today=today(),
    )
    asked = request.form.get("look_again")
    if asked == "sources":
        add_source_line(form)
    if asked == "card" and card.version_id is not None:
        fill_from_card(form, texts=card.texts, card_version_id=card.version_id)
    return card


def around(form: BatchForm, card: ShownCard, choices: BatchChoices) -> dict[str, Any]:
    """Return what stands around the fields on either page."""
    asked = request.form.get("look_again")
    return {
        "card": card,
        "choices": choices,
        "hints": hint_texts(form, usual=card.hints),
        "recent_plants": list_recent_plants(db(), limit=RECENT_PLANTS),
        "unfolded": bool(asked),
        "cautions": sticking_cautions(None),
        "follow": FOLLOW_THE_LABEL,
    }


def stick_typed(session: Session, form: BatchStickForm, *, again: bool) -> Saved:
    """Stick what was typed; with `again` the page goes on to another like it."""
    read = read_batch(session, form=form, actor=actor(), today=day_meant(), now=now())
    with read.lines_as_typed():
        stuck = stick_batch(session, actor=actor(), today=today(), now=now(), entry=read.entry)
    keep_waited(session, waited=waited(), batch_ids=[stuck.id])
    if tag := (form.tag.data or "").strip():
        put_label_on(session, actor=actor(), now=now(), typed=tag, batch_code=stuck.code)
    number = chosen_order(form.order.data or "", choices=form.order.choices)
    if number is not None:
        count_stuck(session, actor=actor(), now=now(), number=number, code=stuck.code)
    another = url_for("sticking.create", like=stuck.code, again="yes")
    here = url_for("batches.show", code=stuck.code)
    return Saved(
        location=another if again else here,
        message=_said(session, stuck, read.entry, with_advice=again),
        link=here,
        undo=url_for("batches.undo", code=stuck.code),
        next=None if again else another,
        next_words="Stick another like this",
    )


def _said(session: Session, stuck: StuckBatch, entry: BatchEntry, *, with_advice: bool) -> str:
    """Return what was saved; the page of the batch shows its advisories itself."""
    story = get_batch(session, code=stuck.code)
    said = f"{stuck.code} is saved: {what_stuck(entry)} of {story.plant}."
    if entry.bench_id is not None:
        load = get_bench_load(session, bench_id=entry.bench_id, on=today())
        said = f"{said} {load.warning(get_bench_name(session, bench_id=entry.bench_id))}".rstrip()
    if not with_advice:
        return said
    advisories = list_batch_advisories(
        session,
        entry=entry,
        hemisphere=nursery().hemisphere,
        today=today(),
        batch_id=stuck.id,
    )
    return " ".join([said, *(advisory.words for advisory in advisories)])
