"""Pages of batches: the list, one as its story, voiding one and taking that back."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any
from urllib.parse import urlencode

from flask import Blueprint, render_template, request, url_for
from flask.typing import ResponseReturnValue
from sqlalchemy.orm import Session
from werkzeug.datastructures import MultiDict

from app.clock import local_date
from app.domain.batch_stories import BatchNames, story_of
from app.domain.batches import BatchEntry
from app.domain.days import day_long
from app.domain.genus_cautions import FOLLOW_THE_LABEL, caution_words
from app.domain.lines import Member, MemberKind
from app.domain.outcomes import CheckKind, lost_by_cause
from app.domain.permissions import Permission
from app.domain.problems import NotAccepted, Problem
from app.domain.standings import Advisory
from app.domain.strike_rates_keys import RateKey
from app.domain.waited_entries import WaitedEntry
from app.domain.way_details import plantlets_words
from app.services.batches import reinstate_batch, void_batch
from app.store.queries.batch_guides import list_batch_advisories
from app.store.queries.batch_kin import get_batch_issue
from app.store.queries.batch_lists import BatchKey, BatchPage, list_batches
from app.store.queries.batch_ways import find_rootstock
from app.store.queries.batches import BatchStory, get_batch
from app.store.queries.checks import StoredCheck, list_checks
from app.store.queries.history import list_history
from app.store.queries.holds import list_holds_of
from app.store.queries.label_numbers import list_numbers_of_batch
from app.store.queries.orders import find_order_of_batch
from app.store.queries.photographs import list_photographs_of_batch
from app.store.queries.plant_passports import get_passport_settings, list_passports
from app.store.queries.practicals import find_practical_of_batch
from app.store.queries.restuck import restuck_by_batch
from app.store.queries.treatments import list_treatments_of_batch
from app.store.queries.waited_entries import find_waited_batch, waited_by_check
from app.web.batch_access import may_correct, refuse_foreign
from app.web.batch_filters import FilterForm, filters_in_words, key_text, wanted_of
from app.web.batch_forecasts import find_forecast, rate_sentences
from app.web.batch_strips import day_strip
from app.web.check_showing import found_in_words
from app.web.forms.batches import BatchVoidForm
from app.web.liner_reading import after_rooting
from app.web.permissions import allow
from app.web.reentries import reentry_warnings
from app.web.requests import actor, db, now, nursery, press, status_of, submit, today
from app.web.results import Saved

blueprint = Blueprint("batches", __name__, url_prefix="/batches")

UNDONE = "taken back right after it was entered"


@blueprint.route("")
@allow(Permission.READ)
def show_all() -> ResponseReturnValue:
    """List batches, newest sticking first, by state, text and the names of strike rates."""
    problems: tuple[Problem, ...] = ()
    page = BatchPage(lines=(), newer=False, older=False)
    try:
        wanted = wanted_of(request.args, actor=actor(), today=today())
        page = list_batches(
            db(),
            wanted=wanted.batches,
            today=today(),
            older_than=wanted.older_than,
            newer_than=wanted.newer_than,
        )
    except NotAccepted as refusal:
        problems = refusal.problems
    shown = render_template(
        "batches/list.html",
        page=page,
        filters=FilterForm(request.args),
        problems=problems,
        chosen=filters_in_words(request.args),
        kept=[pair for pair in request.args.items(multi=True) if pair[0] in set(RateKey)],
        pages=_neighbours(page, request.args),
        today=today(),
    )
    return shown, 422 if problems else 200


@blueprint.route("/<code>")
@allow(Permission.READ)
def show(code: str) -> ResponseReturnValue:
    """Show a batch as its story."""
    batch = get_batch(db(), code=code)
    checks = list_checks(db(), batch_id=batch.id)
    return render_template("batches/show.html", **_story(batch, checks, day=today()))


@blueprint.route("/<code>/void", methods=["GET", "POST"])
@allow(Permission.CORRECT_OWN)
def void(code: str) -> ResponseReturnValue:
    """Take a batch that was entered by mistake out of the log, with a reason."""
    batch = get_batch(db(), code=code)
    refuse_foreign(batch)
    form = BatchVoidForm()
    answer = submit(form, lambda session: _void(session, batch, form.reason.data or ""))
    return answer or (
        render_template("batches/void.html", form=form, batch=batch),
        status_of(form),
    )


@blueprint.route("/<code>/undo", methods=["POST"])
@allow(Permission.CORRECT_OWN)
def undo(code: str) -> ResponseReturnValue:
    """Take back a batch that was just entered."""
    batch = get_batch(db(), code=code)
    return press(lambda session: _void(session, batch, UNDONE))


@blueprint.route("/<code>/reinstate", methods=["POST"])
@allow(Permission.CORRECT_OWN)
def reinstate(code: str) -> ResponseReturnValue:
    """Let a void batch count again."""
    batch = get_batch(db(), code=code)

    def save(session: Session) -> Saved:
        reinstate_batch(session, actor=actor(), today=today(), now=now(), batch_id=batch.id)
        return Saved(
            location=url_for("batches.show", code=batch.code),
            message=f"{batch.code} counts again.",
        )

    return press(save)


def _void(session: Session, batch: BatchStory, reason: str) -> Saved:
    void_batch(session, actor=actor(), today=today(), now=now(), batch_id=batch.id, reason=reason)
    return Saved(
        location=url_for("batches.show", code=batch.code),
        message=f"{batch.code} is void: it stays readable and counts nowhere.",
        undo=url_for("batches.reinstate", code=batch.code),
    )


def _story(batch: BatchStory, checks: tuple[StoredCheck, ...], *, day: date) -> dict[str, Any]:
    """Return everything the page of a batch shows."""
    entry, standing = batch.entry, batch.standing
    live = [check for check in checks if not check.counts.withdrawn]
    moved = restuck_by_batch(db(), batch_ids=[batch.id]).get(batch.id, ())
    forecast = find_forecast(batch, [check.counts for check in live])
    return {
        "batch": batch,
        "entry": entry,
        "standing": standing,
        "rate": rate_sentences(batch, forecast),
        "plantlets": _plantlets(live),
        "finish": forecast is not None and forecast.finish,
        "sentences": story_of(entry, names=_names(batch), today=day),
        "strip": day_strip(
            [*(check.counts for check in live), *moved],
            stuck=entry.stuck,
            stuck_on=entry.stuck_on,
            today=day,
            due_on=batch.due_on,
            ended_on=standing.ended_on if standing.unrooted == 0 else None,
            ahead=[(step.day, step.number) for step in forecast.ahead] if forecast else (),
        ),
        **_looked_at(batch, checks),
        "waited": _told_waited(find_waited_batch(db(), batch_id=batch.id)),
        "losses": lost_by_cause(check.counts for check in live),
        "advisories": _advisories(batch, day=day),
        "caution": caution_words(
            batch.caution, applies_to=batch.caution_applies_to, basis=batch.caution_basis
        ),
        "follow": FOLLOW_THE_LABEL,
        "may_correct": may_correct(batch),
        "today": day,
    } | _around(batch)


def _around(batch: BatchStory) -> dict[str, Any]:
    """Return the other records that a batch leans on, led to or stands under."""
    treatments = list_treatments_of_batch(db(), batch_id=batch.id)
    return {
        "treatments": treatments,
        "warnings": reentry_warnings(treatments),
        "passports": list_passports(db(), batch_id=batch.id),
        "may_issue": get_passport_settings(db())[0].on,
        "holds": list_holds_of(db(), member=Member(kind=MemberKind.BATCH, id=batch.id)),
        "after": after_rooting(batch.id, rooted=batch.standing.rooted),
        "label_numbers": list_numbers_of_batch(db(), batch_id=batch.id),
        "order": find_order_of_batch(db(), batch_id=batch.id),
        "issue": get_batch_issue(db(), batch_id=batch.id),
        "practical": find_practical_of_batch(db(), batch_id=batch.id),
        "history": list_history(db(), subject=f"batch {batch.code}", zone=nursery().zone),
    }


def _looked_at(batch: BatchStory, checks: tuple[StoredCheck, ...]) -> dict[str, Any]:
    """Return the checks of a batch, its photographs, and the check a new one is offered for."""
    live = [check for check in checks if not check.counts.withdrawn]
    return {
        "checks": _told_checks(batch, checks),
        "photographs": list_photographs_of_batch(db(), batch_id=batch.id),
        "newest_check": live[-1] if live else None,
    }


def _advisories(batch: BatchStory, *, day: date) -> list[Advisory]:
    """Return what is unusual; a slip in the year is asked about on the day it was typed only."""
    entered_on = local_date(batch.made_at, zone=nursery().zone)
    found = list_batch_advisories(
        db(), entry=batch.entry, hemisphere=nursery().hemisphere, today=day, batch_id=batch.id
    )
    return [each for each in found if each.field != "stuck_on" or entered_on == day]


@dataclass(frozen=True, kw_only=True)
class ToldCheck:
    """A check as one line of a batch's story; `age_days` is the batch's age at it."""

    id: int
    checked_on: date
    age_days: int
    words: str
    by: str
    note: str
    withdrawn: bool
    waited: str


def _told_checks(batch: BatchStory, checks: tuple[StoredCheck, ...]) -> list[ToldCheck]:
    waited = waited_by_check(db(), batch_id=batch.id)
    return [
        _told(check, entry=batch.entry, waited=_told_waited(waited.get(check.id)))
        for check in checks
    ]


def _told_waited(waited: WaitedEntry | None) -> str:
    """Return when an entry that waited on a device was recorded and received, "" for others."""
    if waited is None:
        return ""
    said = waited.words(zone=nursery().zone)
    return f"{said}; its label said {waited.mark} until then" if waited.mark else said


def _told(check: StoredCheck, *, entry: BatchEntry, waited: str) -> ToldCheck:
    return ToldCheck(
        id=check.id,
        checked_on=check.counts.checked_on,
        age_days=(check.counts.checked_on - entry.stuck_on).days,
        words=found_in_words(check, cutting_type=entry.cutting_type),
        by=check.checked_by or check.recorded_by,
        note=check.note,
        withdrawn=check.counts.withdrawn,
        waited=waited,
    )


def _plantlets(live: Sequence[StoredCheck]) -> str:
    """Return the plantlets counted last, with how many to each piece that had struck by then."""
    counted = [check for check in live if check.plantlets is not None]
    if not counted:
        return ""
    last = counted[-1]
    upto = [check.counts for check in live[: live.index(last) + 1]]
    struck = sum(each.rooted for each in upto if each.kind is CheckKind.COUNTED)
    words = plantlets_words(last.plantlets or 0, struck=struck)
    return f"{words}, counted {day_long(last.counts.checked_on)}; they are in no rate"


def _names(batch: BatchStory) -> BatchNames:
    return BatchNames(
        mix=batch.mix,
        mix_lot=batch.mix_lot,
        container=batch.container,
        container_kind=batch.container_kind,
        bench=batch.stays[0].bench if batch.stays else "",
        gathered_by=batch.gathered_by,
        made_by=batch.made_by,
        stuck_by=batch.stuck_by,
        rootstock=find_rootstock(db(), rootstock_id=batch.entry.details.rootstock_id),
    )


def _neighbours(page: BatchPage, args: MultiDict[str, str]) -> dict[str, str]:
    """Return the addresses of the pages with newer and with older batches, where there are any."""
    sides = {}
    if page.lines and page.newer:
        sides["newer"] = _beside(args, "newer", page.lines[0].key)
    if page.lines and page.older:
        sides["older"] = _beside(args, "older", page.lines[-1].key)
    return sides


def _beside(args: MultiDict[str, str], side: str, key: BatchKey) -> str:
    kept = [pair for pair in args.items(multi=True) if pair[0] not in {"older", "newer"}]
    return f"{url_for('batches.show_all')}?{urlencode([*kept, (side, key_text(key))])}"
