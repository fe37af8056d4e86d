"""The page that says how a strike rate was worked out, with its numbers."""

from flask import Blueprint, render_template, request
from flask.typing import ResponseReturnValue

from app.domain.permissions import Permission
from app.domain.problems import NotAccepted
from app.domain.rate_workings import steps_of
from app.domain.strike_rates import rate_of
from app.domain.strike_rates_questions import question_words
from app.domain.strike_rates_words import correlation_sentence, rate_sentence
from app.store.queries.strike_rates import get_group_facts
from app.web.learning import learned_fit
from app.web.permissions import allow
from app.web.rate_addresses import address, names_of_square, of_pairs, pairs_of, question_of
from app.web.requests import actor, db, end_reading, today

blueprint = Blueprint("rate_workings", __name__)


@blueprint.route("/strike-rates/worked-out")
@allow(Permission.READ)
def show() -> ResponseReturnValue:
    """Show each step from the counts to the figure."""
    # Both load numpy, which a page without rates must not pay for.
    from app.store.queries.learned_rates import get_learned_square  # noqa: PLC0415 - as said
    from app.store.queries.rate_workings import get_rate_context  # noqa: PLC0415 - as said

    try:
        question = question_of(request.args, actor=actor(), today=today(), by_any=False)
        of = names_of_square(request.args)
        fit = learned_fit()
        square = (
            get_learned_square(db(), question=question, fit=fit, of=of)
            if fit
            else rate_of(get_group_facts(db(), question=question))
        )
        context = get_rate_context(db(), question=question, of=of, fit=fit)
    except NotAccepted as refusal:
        return render_template("strike_rates/refused.html", problems=refusal.problems), 422
    end_reading()
    return render_template(
        "rate_workings/show.html",
        asked=question_words(question),
        said=rate_sentence(square),
        steps=steps_of(square, context=context),
        correlation=correlation_sentence(context.correlation, finished=context.finished),
        back=address("strike_rates.show_batches", [*pairs_of(question), *of_pairs(of)]),
    )
