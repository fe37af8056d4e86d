"""Pages of a session's batches: side by side, one for each who takes part, own ones added."""

from dataclasses import dataclass, replace
from typing import Any

from flask import Blueprint, Response, render_template, request, url_for
from flask.typing import ResponseReturnValue
from sqlalchemy.orm import Session

from app.domain.genus_cautions import FOLLOW_THE_LABEL
from app.domain.permissions import Permission, allowed
from app.domain.practical_results import (
    FEWEST_PEOPLE,
    PracticalResults,
    ResultLine,
    TakenBatch,
    results_of,
)
from app.domain.problems import NotAccepted, Problem
from app.domain.strike_rates import ASSUMED_CORRELATION
from app.domain.strike_rates_words import (
    basis_sentence,
    correlation_sentence,
    estimate_words,
    few_sentence,
    outcome_words,
    rate_sentence,
    weight_sentence,
)
from app.domain.way_words import told_for
from app.domain.work_cautions import sticking_cautions
from app.services.practical_batches import (
    BatchOfPerson,
    add_to_practical,
    of_person,
    stick_for_people,
    take_off_practical,
)
from app.store.queries.batch_choices import list_batch_choices
from app.store.queries.practical_batches import (
    list_taken_batches,
    newest_version_of_mix,
)
from app.store.queries.practicals import KnownPractical, get_practical
from app.web.batch_filling import offer, typed_day
from app.web.batch_reading import read_batch
from app.web.forms.practical_batches import OwnBatchForm, PracticalBatchesForm
from app.web.learning import learned_fit
from app.web.permissions import allow
from app.web.practical_showing import cautions_shown
from app.web.requests import actor, db, now, press, status_of, submit, today
from app.web.results import Saved

blueprint = Blueprint("practical_batches", __name__, url_prefix="/practicals")


@blueprint.route("/<code>/batches")
@allow(Permission.READ)
def show_all(code: str) -> ResponseReturnValue:
    """Show the batches of a session side by side; a trainee sees their own and the sum of all."""
    known = get_practical(db(), code=code)
    only = None if allowed(actor().role, Permission.SEE_EVERYBODY) else actor().person_id
    fit = learned_fit() if known.batches else None
    correlation = fit.correlation if fit else ASSUMED_CORRELATION
    results = results_of(
        list_taken_batches(db(), practical_id=known.id),
        only_person_id=only,
        correlation=correlation,
    )
    return render_template(
        "practicals/batches.html",
        known=known,
        results=results,
        rows=[_row(line) for line in results.lines],
        pooled=_pooled(results),
        own_only=only is not None,
        too_few_people=only is not None and results.people < FEWEST_PEOPLE,
        correlation=correlation_sentence(correlation, finished=fit.finished if fit else 0),
        today=today(),
    )


@blueprint.route("/<code>/batches/new", methods=["GET", "POST"])
@allow(Permission.TEACH)
def create(code: str) -> ResponseReturnValue:
    """Stick a batch for each who took part, with shared settings and a number for each."""
    known = get_practical(db(), code=code)
    form = PracticalBatchesForm(data=_starting(known))
    choices = list_batch_choices(db())
    offer(form, choices=choices)
    names = {str(person.id): person.name for person in known.people}
    for line in form.people:
        line.form.stuck.label.text = names.get(line.form.person.data or "", "somebody else")
    answer = submit(form, lambda session: _stick(session, form, known=known))
    if answer:
        return answer
    page = render_template(
        "practicals/stick.html",
        form=form,
        known=known,
        choices=choices,
        missing=cautions_shown(known).missing,
        cautions=sticking_cautions(known.entry.hormone),
        follow=FOLLOW_THE_LABEL,
        today=today(),
    )
    return page, status_of(form)


@blueprint.route("/<code>/batches/add", methods=["GET", "POST"])
@allow(Permission.STICK)
def add(code: str) -> ResponseReturnValue:
    """Say that a batch that is stuck already belongs to a session."""
    known = get_practical(db(), code=code)
    form = OwnBatchForm(data={"batch": request.args.get("batch", "")})

    def join(session: Session) -> Saved:
        batch = add_to_practical(
            session,
            actor=actor(),
            now=now(),
            code=known.code,
            batch_code=form.batch.data or "",
        )
        return Saved(
            location=_here(known),
            message=f"{batch} belongs to {known.code}.",
            undo=url_for("practical_batches.take_off", code=known.code, batch_code=batch),
        )

    answer = submit(form, join)
    if answer:
        return answer
    page = render_template("practicals/add_batch.html", form=form, known=known, today=today())
    return page, status_of(form)


@blueprint.route("/<code>/batches/<batch_code>/take-off", methods=["POST"])
@allow(Permission.CORRECT_OWN)
def take_off(code: str, batch_code: str) -> Response:
    """Let a batch no longer belong to a session."""

    def save(session: Session) -> Saved:
        known = get_practical(session, code=code)
        batch = take_off_practical(
            session, actor=actor(), now=now(), code=known.code, batch_code=batch_code
        )
        return Saved(location=_here(known), message=f"{batch} no longer belongs to {known.code}.")

    return press(save)


def _here(known: KnownPractical) -> str:
    return url_for("practical_batches.show_all", code=known.code)


@dataclass(frozen=True, kw_only=True)
class ShownResult:
    """A batch of the session in words; `worth` says how many separate cuttings it tells of."""

    batch: TakenBatch
    counts: str
    rate: str
    worth: str


def _row(line: ResultLine) -> ShownResult:
    square, kind = line.square, line.batch.cutting_type
    counts = f"{line.batch.standing.stuck:,} stuck: {outcome_words(square.facts.every)}"
    return ShownResult(
        batch=line.batch,
        counts=told_for(counts, cutting_type=kind),
        rate=estimate_words(square),
        worth=told_for(weight_sentence(square), cutting_type=kind),
    )


def _pooled(results: PracticalResults) -> tuple[str, ...]:
    if results.pooled is None:
        return ()
    said = (
        rate_sentence(results.pooled),
        basis_sentence(results.pooled),
        few_sentence(results.pooled),
        weight_sentence(results.pooled),
    )
    return tuple(told_for(each, cutting_type=results.way) for each in said if each)


def _stick(session: Session, form: PracticalBatchesForm, *, known: KnownPractical) -> Saved:
    wanted = _read(session, form)
    stuck = stick_for_people(
        session, actor=actor(), today=today(), now=now(), code=known.code, wanted=wanted
    )
    codes = ", ".join(one.code for one in stuck)
    are = "1 batch is" if len(stuck) == 1 else f"{len(stuck)} batches are"
    return Saved(location=_here(known), message=f"{are} saved. Codes for the labels: {codes}.")


def _read(session: Session, form: PracticalBatchesForm) -> list[BatchOfPerson]:
    """Return a batch for each line with a number; what is wrong is told once, not for each."""
    problems: dict[Problem, None] = {}
    wanted = []
    for place, line in enumerate(form.people):
        form.stuck.data = line.form.stuck.data
        person = line.form.person.data or ""
        if not (form.stuck.data or "").strip():
            continue
        try:
            read = read_batch(session, form=form, actor=actor(), today=today(), now=now())
        except NotAccepted as refusal:
            problems |= dict.fromkeys(of_person(refusal, place=place))
            continue
        sources = tuple(replace(source, number=None) for source in read.entry.sources)
        entry = replace(read.entry, sources=sources)
        person_id = int(person) if person.isdecimal() and len(person) < len("1000000000") else 0
        wanted.append(BatchOfPerson(person_id=person_id, entry=entry, place=place))
    if problems:
        raise NotAccepted(tuple(problems))
    return wanted


def _starting(known: KnownPractical) -> dict[str, Any]:
    entry = known.entry
    newest = newest_version_of_mix(db(), mix_id=entry.mix_id)
    return {
        "plant": known.plant,
        "cutting_type": entry.cutting_type.value if entry.cutting_type else "",
        "hormone": entry.hormone.label if entry.hormone else "",
        "container": _id(entry.container_id),
        "mix": _id(newest),
        "bench": _id(entry.bench_id),
        "per_place": _id(entry.per_place),
        "stuck_on": typed_day(min(entry.held_on, today())),
        "card_version": _id(entry.method_card_version_id),
        "people": [
            {"person": str(person.id), "stuck": _id(entry.per_head)} for person in known.people
        ],
    }


def _id(value: int | None) -> str:
    return "" if value is None else str(value)
