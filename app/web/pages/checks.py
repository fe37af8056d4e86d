"""Pages of checks: a new one, one with its versions, a correction, taking one out, undo."""

from collections.abc import Callable
from dataclasses import replace
from functools import partial

from flask import Blueprint, redirect, render_template, request, url_for
from flask.typing import ResponseReturnValue
from sqlalchemy.orm import Session

from app.domain.check_words import found_words, left_words
from app.domain.codes import parse_batch_code
from app.domain.containers import ContainerKind
from app.domain.cutting_types import PIECES
from app.domain.due_lists import DueBatch
from app.domain.genus_cautions import FOLLOW_THE_LABEL, caution_words
from app.domain.outcomes import Standing, standing_before
from app.domain.permissions import Permission
from app.domain.problems import NotAccepted
from app.domain.rooted_signs import usual_sign
from app.domain.typed_counts import MissingAsked
from app.domain.way_words import told_for
from app.domain.work_cautions import bench_cautions
from app.services.batch_facts import Facts
from app.services.checks import (
    RecordedCheck,
    correct_check,
    may_correct,
    record_check,
    refuse_foreign,
    undo_check,
    withdraw_check,
)
from app.services.waited_entries import keep_waited
from app.store.queries.batches import BatchStory, find_batch_id, get_batch
from app.store.queries.checks import StoredCheck, counts_by_batch, get_check, list_check_versions
from app.store.queries.liner_lots import rooted_left
from app.store.queries.lost_causes import list_lost_causes
from app.store.queries.people import list_person_names
from app.store.queries.photographs import list_photographs_of_check
from app.store.queries.today import find_due_batch, list_round
from app.store.queries.treatments import list_treatments_of_batch
from app.store.queries.waited_entries import waited_by_check
from app.web.check_showing import found_in_words
from app.web.forms.checks import CheckForm, WithdrawForm, numbered_losses, typed_again
from app.web.permissions import allow
from app.web.reentries import reentry_warnings
from app.web.requests import (
    actor,
    day_meant,
    db,
    now,
    nursery,
    press,
    status_of,
    submit,
    today,
    waited,
)
from app.web.results import Saved

blueprint = Blueprint("checks", __name__)

MORE_LINES = "lines"


@blueprint.route("/checks/new")
@allow(Permission.CHECK)
def choose() -> ResponseReturnValue:
    """Ask which batch is checked, and go on to it by its code."""
    code = request.args.get("code", "").strip()
    if code and find_batch_id(db(), code=code) is not None:
        found = str(parse_batch_code(code))
        return redirect(url_for("checks.create", code=found), code=303)
    return render_template(
        "checks/choose.html", code=code, round=list_round(db(), on=today()), today=today()
    )


@blueprint.route("/batches/<code>/checks/new", methods=["GET", "POST"])
@allow(Permission.CHECK)
def create(code: str) -> ResponseReturnValue:
    """Record a check of a batch."""
    batch = get_batch(db(), code=code)
    sign = usual_sign(batch.entry.cutting_type, plug=batch.container_kind is ContainerKind.TRAY)
    form = CheckForm(data={"rooted_means": sign.value})
    _offer(form, batch=batch)

    def record(session: Session) -> Saved:
        due_next = _next_on_round(session, batch)
        recorded = record_check(
            session,
            actor=actor(),
            today=today(),
            now=now(),
            batch_id=batch.id,
            entry=form.entry(today=day_meant(), restuck_into_id=_restuck_into(session, form)),
        )
        keep_waited(session, waited=waited(), check_ids=[recorded.check_id])
        return _back_on_round(_saved(recorded, batch=batch, due_next=due_next))

    answer = submit(form, lambda session: _asking(form, record, session, batch=batch))
    if answer:
        return answer
    return _form_page("checks/new.html", form=form, batch=batch, before=batch.standing)


@blueprint.route("/checks/<int:check_id>")
@allow(Permission.READ)
def show(check_id: int) -> ResponseReturnValue:
    """Show a check with every version of it."""
    stored = get_check(db(), check_id=check_id)
    batch = get_batch(db(), code=stored.batch_code)
    return render_template(
        "checks/show.html",
        stored=stored,
        versions=list_check_versions(db(), check_id=check_id),
        photographs=list_photographs_of_check(db(), check_id=check_id),
        batch=batch,
        found_words=_found_words(batch),
        waited=waited_by_check(db(), batch_id=stored.batch_id).get(check_id),
        zone=nursery().zone,
        may_correct=may_correct(stored, actor=actor()),
        today=today(),
    )


@blueprint.route("/checks/<int:check_id>/correct", methods=["GET", "POST"])
@allow(Permission.CORRECT_OWN)
def correct(check_id: int) -> ResponseReturnValue:
    """Correct a check, with a reason."""
    stored = get_check(db(), check_id=check_id)
    refuse_foreign(stored, actor=actor())
    batch = get_batch(db(), code=stored.batch_code)
    form = CheckForm(data=typed_again(stored, ending_cause=batch.ending_cause))
    _offer(form, batch=batch)

    def save(session: Session) -> Saved:
        corrected = correct_check(
            session,
            actor=actor(),
            today=today(),
            now=now(),
            check_id=check_id,
            version=form.version.data,
            entry=form.entry(today=today(), restuck_into_id=_restuck_into(session, form)),
            reason=form.reason.data or "",
        )
        return _saved(corrected, batch=batch, opening="Corrected. ")

    answer = submit(form, lambda session: _asking(form, save, session, batch=batch))
    if answer:
        return answer
    before = _before(stored, batch=batch)
    return _form_page("checks/correct.html", form=form, batch=batch, before=before, stored=stored)


@blueprint.route("/checks/<int:check_id>/withdraw", methods=["GET", "POST"])
@allow(Permission.CORRECT_OWN)
def withdraw(check_id: int) -> ResponseReturnValue:
    """Take a check out of the counts; it stays readable."""
    stored = get_check(db(), check_id=check_id)
    refuse_foreign(stored, actor=actor())
    batch = get_batch(db(), code=stored.batch_code)
    form = WithdrawForm(data={"version": stored.version})

    def save(session: Session) -> Saved:
        withdrawn = withdraw_check(
            session,
            actor=actor(),
            now=now(),
            check_id=check_id,
            version=form.version.data,
            reason=form.reason.data or "",
        )
        return _saved(withdrawn, batch=batch, opening="Withdrawn; it counts nowhere now. ")

    answer = submit(form, save)
    return answer or (
        render_template(
            "checks/withdraw.html",
            form=form,
            stored=stored,
            batch=batch,
            found_words=_found_words(batch),
            today=today(),
        ),
        status_of(form),
    )


@blueprint.route("/checks/<int:check_id>/undo/<int:version>", methods=["POST"])
@allow(Permission.CORRECT_OWN)
def undo(check_id: int, version: int) -> ResponseReturnValue:
    """Take back what was just saved of a check."""

    def take_back(session: Session) -> Saved:
        undone = undo_check(session, actor=actor(), now=now(), check_id=check_id, version=version)
        address = _batch_address(undone.batch_code)
        kind = get_batch(session, code=undone.batch_code).entry.cutting_type
        left = told_for(left_words(_standing(undone.facts)), cutting_type=kind)
        return Saved(location=address, message=f"Undone. {undone.batch_code}: {left}")

    return press(take_back)


def _asking(
    form: CheckForm, action: Callable[[Session], Saved], session: Session, *, batch: BatchStory
) -> Saved:
    """Save, and where the unrooted were counted short let the form ask about the difference.

    What is refused is told in the words of the batch's way.
    """
    try:
        return action(session)
    except NotAccepted as refusal:
        if isinstance(refusal, MissingAsked):
            form.ask_about(refusal.missing)
        told = (
            replace(each, sentence=told_for(each.sentence, cutting_type=batch.entry.cutting_type))
            for each in numbered_losses(refusal.problems)
        )
        raise NotAccepted(tuple(told)) from refusal


def _found_words(batch: BatchStory) -> Callable[[StoredCheck], str]:
    return partial(found_in_words, cutting_type=batch.entry.cutting_type)


def _offer(form: CheckForm, *, batch: BatchStory) -> None:
    form.speak_of(batch.entry.cutting_type)
    # First, so that the lines added have causes to choose from too.
    if request.form.get("look_again") == MORE_LINES:
        form.more_lines()
    form.offer(
        causes=list_lost_causes(db()),
        people=list_person_names(db()),
        checker=actor().person_id,
    )


def _form_page(
    template: str,
    *,
    form: CheckForm,
    batch: BatchStory,
    before: Standing,
    stored: StoredCheck | None = None,
) -> ResponseReturnValue:
    page = render_template(
        template,
        form=form,
        batch=batch,
        before=before,
        stored=stored,
        due=find_due_batch(db(), on=today(), batch_id=batch.id),
        warnings=reentry_warnings(list_treatments_of_batch(db(), batch_id=batch.id)),
        found_words=_found_words(batch),
        of_pieces=batch.entry.cutting_type in PIECES,
        more_lines=MORE_LINES,
        genus_caution=caution_words(
            batch.caution, applies_to=batch.caution_applies_to, basis=batch.caution_basis
        ),
        follow_the_label=FOLLOW_THE_LABEL,
        bench_cautions=bench_cautions(),
        today=today(),
    )
    return page, status_of(form)


def _before(stored: StoredCheck, *, batch: BatchStory) -> Standing:
    """Return where the batch stood just before a stored check."""
    counts = counts_by_batch(db(), batch_ids=[batch.id]).get(batch.id, ())
    return standing_before(
        counts,
        checked_on=stored.counts.checked_on,
        running=stored.counts.running,
        stuck=batch.entry.stuck,
        stuck_on=batch.entry.stuck_on,
    )


def _restuck_into(session: Session, form: CheckForm) -> int | None:
    code = (form.restuck_into.data or "").strip()
    if not code:
        return None
    batch_id = find_batch_id(session, code=code)
    if batch_id is None:
        sentence = f"There is no batch {code}. Stick it first, then name it here."
        raise NotAccepted.at("restuck_into", sentence)
    return batch_id


def _next_on_round(session: Session, batch: BatchStory) -> DueBatch | None:
    """Return the batch that comes after this one among those late or due today."""
    others = list_round(session, on=today())
    places = [place for place, due in enumerate(others) if due.batch_id == batch.id]
    after = others[places[0] + 1 :] + others[: places[0]] if places else others
    return next(iter(after), None)


def _saved(
    recorded: RecordedCheck,
    *,
    batch: BatchStory,
    opening: str = "",
    due_next: DueBatch | None = None,
) -> Saved:
    said = f"{found_words(recorded.counts)}. {left_words(_standing(recorded.facts))}"
    told = told_for(said, cutting_type=batch.entry.cutting_type)
    following: tuple[str | None, str] = (None, "Next one")
    if due_next is not None:
        address = url_for("checks.create", code=due_next.code)
        following = (address, f"Next one due: {due_next.code}")
    elif rooted_left(db(), batch_id=recorded.facts.batch_id):
        address = url_for("liner_lots.create", code=recorded.batch_code)
        following = (address, "Pot up the rooted ones")
    return Saved(
        location=_batch_address(recorded.batch_code),
        message=f"{opening}{recorded.batch_code}: {told}",
        link=url_for("checks.show", check_id=recorded.check_id),
        undo=url_for("checks.undo", check_id=recorded.check_id, version=recorded.version),
        next=following[0],
        next_words=following[1],
    )


def _back_on_round(saved: Saved) -> Saved:
    """Return the same, leading back to the round where the check was made on it."""
    if "round" not in request.args:
        return saved
    bench_id = request.args.get("bench", type=int)
    return replace(saved, location=url_for("rounds.show", bench=bench_id), next=None)


def _batch_address(code: str) -> str:
    return f"/batches/{code}"


def _standing(facts: Facts) -> Standing:
    return Standing(
        stuck=facts.stuck,
        rooted=facts.rooted,
        lost=facts.lost,
        dumped=facts.dumped,
        cleared_unrooted=facts.cleared_unrooted,
    )
