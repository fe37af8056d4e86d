"""Pages of strike rates: a question in a sentence, its answer, the batches behind a figure."""

import io
from dataclasses import replace
from typing import Any, Final

from flask import Blueprint, Response, abort, render_template, request
from flask.typing import ResponseReturnValue

from app.domain.permissions import Permission, allowed
from app.domain.problems import NotAccepted
from app.domain.strike_rates import RateOf, RateSquare, rate_of
from app.domain.strike_rates_answers import Figure, RateAnswer, columns_of, figures_of
from app.domain.strike_rates_keys import RateKey
from app.domain.strike_rates_questions import (
    USUAL_RESTUCK,
    DayOf,
    RateQuestion,
    Restuck,
    Ways,
    filter_words,
    only_way_of,
    question_words,
    types_of,
)
from app.domain.strike_rates_words import (
    basis_sentence,
    batches,
    chance_sentence,
    correlation_sentence,
    cuttings,
    few_sentence,
    leaning_sentence,
    outside_sentence,
    plain_sentence,
    rate_sentence,
    restuck_sentence,
    ways_sentence,
    weight_sentence,
)
from app.domain.way_words import told_for
from app.formats.csv_sheets import csv_chunks
from app.formats.xlsx_sheets import write_xlsx
from app.store.queries.strike_rates import (
    get_group_facts,
    list_batches_behind,
)
from app.store.queries.strike_rates_values import list_rate_values
from app.web.forms.strike_rates import CHOSEN, RateQuestionForm
from app.web.learning import learned_answer, learned_fit
from app.web.permissions import allow
from app.web.rate_addresses import (
    Pairs,
    address,
    names_of_square,
    of_pairs,
    pairs_of,
    question_of,
)
from app.web.rate_tables import shown_table
from app.web.requests import actor, db, end_reading, today

blueprint = Blueprint("strike_rates", __name__, url_prefix="/strike-rates")

BEHIND: Final = 100
_LONGEST_PAGE: Final = 6
_SHEETS: Final = {
    "csv": "text/csv; charset=utf-8",
    "xlsx": "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
}


@blueprint.route("")
@allow(Permission.READ)
def show() -> ResponseReturnValue:
    """Show the question with the choices in it, and its answer as a table and a picture."""
    form = _form()
    answer = None
    try:
        question = question_of(request.args, actor=actor(), today=today())
        answer = learned_answer(question)
    except NotAccepted as refusal:
        form.refuse(refusal)
    end_reading()
    if answer is None:
        return render_template("strike_rates/show.html", form=form, answer=None), 422
    return render_template("strike_rates/show.html", form=form, **_shown(answer))


@blueprint.route("/batches")
@allow(Permission.READ)
def show_batches() -> ResponseReturnValue:
    """List exactly the batches behind one figure."""
    page = _page_number()
    try:
        question = question_of(request.args, actor=actor(), today=today(), by_any=False)
        of = names_of_square(request.args)
        square = _group_square(question, of=of)
        found = list_batches_behind(db(), question=question, limit=BEHIND, skip=(page - 1) * BEHIND)
    except NotAccepted as refusal:
        return render_template("strike_rates/refused.html", problems=refusal.problems), 422
    end_reading()
    number = square.facts.every.batches
    first = (page - 1) * BEHIND
    return render_template(
        "strike_rates/batches.html",
        batches=found,
        of=question.of,
        square=square,
        sentences=_sentences(square),
        asked=question_words(question),
        in_sight=f"{first + 1:,} to {first + len(found):,} of {number:,}",
        earlier=_turned("strike_rates.show_batches", question, page - 1) if page > 1 else None,
        later=_turned("strike_rates.show_batches", question, page + 1)
        if first + len(found) < number and found
        else None,
        back=address("strike_rates.show", pairs_of(question)),
        worked_out=address("rate_workings.show", [*pairs_of(question), *of_pairs(of)]),
        today=today(),
    )


@blueprint.route("/sheet.<ending>")
@allow(Permission.EXPORT)
def download(ending: str) -> ResponseReturnValue:
    """Answer with the figures of the page as a sheet, .csv or .xlsx."""
    if ending not in _SHEETS:
        abort(404)
    try:
        question = question_of(request.args, actor=actor(), today=today())
        answer = learned_answer(question)
    except NotAccepted as refusal:
        return render_template("strike_rates/refused.html", problems=refusal.problems), 422
    end_reading()
    rows = _rows(answer)
    if ending == "csv":
        body = b"".join(csv_chunks(rows))
    else:
        sheet = io.BytesIO()
        write_xlsx(rows, target=sheet, title="Strike rates")
        body = sheet.getvalue()
    rate = "strike-rates" if question.of is RateOf.STRIKE else "plants-ready"
    names = "-and-".join(key.value for key in question.by)
    response = Response(body, content_type=_SHEETS[ending])
    response.headers["Content-Disposition"] = f'attachment; filename="{rate}-by-{names}.{ending}"'
    return response


def _group_square(question: RateQuestion, *, of: tuple[RateKey, ...]) -> RateSquare:
    from app.store.queries.learned_rates import get_learned_square  # noqa: PLC0415 - loads numpy

    fit = learned_fit()
    if fit is None:
        return rate_of(get_group_facts(db(), question=question))
    return get_learned_square(db(), question=question, fit=fit, of=of)


def _rows(answer: RateAnswer) -> list[tuple[Figure, ...]]:
    question = answer.question
    figures = (figures_of(group, question=question) for group in answer.groups)
    return [columns_of(question), *figures]


def _shown(answer: RateAnswer) -> dict[str, Any]:
    """Return what the template shows of an answer."""
    question = answer.question
    total = rate_of(answer.total, learned=answer.total_learned)
    table = shown_table(answer, page=_page_number())
    return {
        "answer": answer,
        "asked": question_words(question),
        "total": total,
        "total_words": f"{batches(answer.total.every.batches)}, "
        f"{cuttings(answer.total.every.stuck)}",
        "total_sentences": [
            told_for(each, cutting_type=only_way_of(question.where)) for each in _sentences(total)
        ],
        "table": table,
        "kept": _values_after_the_first(question),
        "chosen": [
            (words, address("strike_rates.show", _without(question, place)))
            for place, words in enumerate(filter_words(question))
        ],
        "narrowed": bool(question.where or question.restuck is not USUAL_RESTUCK),
        "remarks": _remarks(answer),
        "sheets": [
            (ending, address("strike_rates.download", pairs_of(question), ending=ending))
            for ending in _SHEETS
        ],
        "earlier": _turned("strike_rates.show", question, table.page - 1)
        if table.page > 1
        else None,
        "later": _turned("strike_rates.show", question, table.page + 1)
        if table.page < table.pages
        else None,
    }


def _sentences(square: RateSquare) -> list[str]:
    said = (
        rate_sentence(square),
        basis_sentence(square),
        chance_sentence(square),
        weight_sentence(square),
        few_sentence(square),
        outside_sentence(square),
        leaning_sentence(square),
        plain_sentence(square),
    )
    return [sentence for sentence in said if sentence]


def _remarks(answer: RateAnswer) -> list[str]:
    question = answer.question
    named = {*question.by, *(each.key for each in question.where)}
    remarks = [f"{key.label.capitalize()}: {key.meaning}." for key in RateKey if key in named]
    if question.day_of is DayOf.TAKEN:
        remarks.append("Months, years, first and last day go by the day of taking.")
    if said := restuck_sentence(question.restuck, number=_restuck_here(question)):
        remarks.append(said)
    if said := ways_sentence(
        question.ways, others=_others_here(question), asked=len(types_of(question.where))
    ):
        remarks.append(said)
    if question.only_person_id is not None:
        remarks.append("Figures by person are shown to you for yourself only.")
    return [*remarks, correlation_sentence(answer.correlation, finished=answer.finished)]


def _restuck_here(question: RateQuestion) -> int:
    """Return how many batches of the answer were re-stuck, whether it counts them or not."""
    asked = replace(question, restuck=Restuck.ONLY)
    return get_group_facts(db(), question=asked).every.batches


def _others_here(question: RateQuestion) -> int:
    """Return how many batches of divisions and grafts would answer, counted or not."""
    asked = replace(question, ways=Ways.OTHERS)
    return get_group_facts(db(), question=asked).every.batches


def _without(question: RateQuestion, place: int) -> Pairs:
    where = (*question.where[:place], *question.where[place + 1 :])
    return pairs_of(replace(question, where=where))


def _values_after_the_first(question: RateQuestion) -> Pairs:
    """Return the alternatives for which the form has no field of its own."""
    return [(key.value, value) for key in RateKey for value in question.values_of(key)[1:]]


def _turned(endpoint: str, question: RateQuestion, page: int) -> str:
    return address(endpoint, [*pairs_of(question), ("page", str(page))])


def _page_number() -> int:
    text = request.args.get("page", "1")
    return int(text) if text.isdecimal() and 1 <= len(text) <= _LONGEST_PAGE and int(text) else 1


def _form() -> RateQuestionForm:
    values = {key: list_rate_values(db(), key=key) for key in CHOSEN}
    if not allowed(actor().role, Permission.SEE_EVERYBODY):
        values[RateKey.PERSON] = (actor().name,)
    return RateQuestionForm(request.args, values=values)
