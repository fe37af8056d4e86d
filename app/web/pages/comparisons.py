"""The page that compares two levels of a factor: a question in a sentence, and its answer."""

from typing import TYPE_CHECKING, Any, Final

from flask import Blueprint, render_template, request
from flask.typing import ResponseReturnValue
from werkzeug.datastructures import MultiDict

from app.domain.comparisons_questions import (
    ComparisonQuestion,
    Factor,
    accepted_comparison,
    factors_for,
    parse_factor,
)
from app.domain.comparisons_strengths import Strengths, strengths_of
from app.domain.permissions import Permission, allowed
from app.domain.problems import NotAccepted
from app.domain.strike_rates import ASSUMED_CORRELATION
from app.domain.strike_rates_keys import RateKey
from app.domain.strike_rates_questions import RateQuestion
from app.domain.strike_rates_words import batches
from app.store.queries.comparisons_levels import FactorLevel, list_factor_levels
from app.store.queries.strike_rates_values import list_rate_values
from app.web.forms.comparisons import TYPED, ComparisonForm, TypedComparisonForm
from app.web.forms.strike_rates import CHOSEN
from app.web.learning import learned_fit
from app.web.permissions import allow
from app.web.rate_addresses import question_of
from app.web.requests import actor, db, end_reading, today

if TYPE_CHECKING:
    from app.domain.comparisons_answers import ComparisonAnswer

blueprint = Blueprint("comparisons", __name__, url_prefix="/strike-rates")

_FEWEST_LEVELS: Final = 2


@blueprint.route("/compare")
@allow(Permission.READ)
def show() -> ResponseReturnValue:
    """Show the question with its choices, and the answer once two levels are chosen."""
    args = _args()
    form = _form(args, factor=Factor.HORMONE)
    shown: dict[str, Any] = {"factor": Factor.HORMONE, "levels": (), "answer": None}
    status = 200
    try:
        factor = parse_factor(args.get("by", ""), actor=actor())
        form = _form(args, factor=factor)
        shown = _answered(form, factor=factor, args=args)
    except NotAccepted as refusal:
        form.refuse(refusal)
        status = 422
    end_reading()
    return render_template("comparisons/show.html", form=form, **shown), status


def _answered(form: ComparisonForm, *, factor: Factor, args: MultiDict[str, str]) -> dict[str, Any]:
    """Return what the page shows: the levels there are and, where two are chosen, the answer."""
    asked = question_of(args, actor=actor(), today=today(), by_any=False)
    levels = list_factor_levels(db(), factor=factor, asked=asked)
    form.offer([(level.value, _choice(level, factor=factor)) for level in levels])
    shown = {"factor": factor, "levels": levels, "enough": len(levels) >= _FEWEST_LEVELS}
    one, other = (args.get(side, "").strip() for side in ("one", "other"))
    if not (one and other):
        return {**shown, "answer": None}
    question = accepted_comparison(factor, one=one, other=other, asked=asked)
    return {**shown, **_shown(question, levels=levels)}


def _shown(question: ComparisonQuestion, *, levels: tuple[FactorLevel, ...]) -> dict[str, Any]:
    # The sums need numpy, which no other page should pay for at the start.
    from app.web.comparison_tables import shown_comparison  # noqa: PLC0415

    strengths = strengths_of(question, levels=[level.value for level in levels])
    return shown_comparison(_answer(question, strengths=strengths), actor=actor())


def _answer(question: ComparisonQuestion, *, strengths: Strengths | None) -> "ComparisonAnswer":
    from app.domain.comparisons_answers import answer_comparison  # noqa: PLC0415 - numpy
    from app.store.queries.comparisons import read_comparison  # noqa: PLC0415 - numpy

    fit = learned_fit()
    wide = question.with_all_genera if question.genus else question
    further = (strengths.base, *strengths.levels) if strengths else ()
    records = read_comparison(db(), question=wide, further=further)
    end_reading()
    return answer_comparison(
        question,
        records=records,
        strengths=strengths,
        fit=fit,
        correlation=fit.correlation if fit else ASSUMED_CORRELATION,
    )


def _args() -> MultiDict[str, str]:
    """Return the address; levels chosen for another factor than the one asked by are dropped."""
    args = MultiDict(request.args.items(multi=True))
    args.setdefault("by", Factor.HORMONE.value)
    if args.get("of", args["by"]) != args["by"]:
        args.poplist("one")
        args.poplist("other")
    return args


def _form(args: MultiDict[str, str], *, factor: Factor) -> ComparisonForm:
    values = {key: list_rate_values(db(), key=key) for key in CHOSEN}
    if not allowed(actor().role, Permission.SEE_EVERYBODY):
        values[RateKey.PERSON] = (actor().name,)
    kind = TypedComparisonForm if factor in TYPED else ComparisonForm
    return kind(args, values=values, factors=factors_for(actor()))


def _choice(level: FactorLevel, *, factor: Factor) -> str:
    blank = ComparisonQuestion(factor=factor, one="", other="", asked=RateQuestion())
    return f"{blank.level_words(level.value)} ({batches(level.batches)})"
