"""The page that says who or what needs a look: people, benches, mixes, mix lots, stock plants."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final

from flask import Blueprint, render_template, request
from flask.typing import ResponseReturnValue
from werkzeug.datastructures import MultiDict

from app.domain.comparisons_words import points_words
from app.domain.permissions import Permission
from app.domain.problems import NotAccepted
from app.domain.standouts_questions import (
    StandoutBy,
    StandoutQuestion,
    parse_standouts,
    usual_since,
)
from app.domain.standouts_words import (
    CAUTION,
    call_sentences,
    difference_words,
    headline,
    own_headline,
    quiet_sentences,
    workings,
)
from app.domain.strike_rates import ASSUMED_CORRELATION
from app.domain.strike_rates_keys import RateKey
from app.domain.strike_rates_questions import RateFilter
from app.domain.strike_rates_words import percent
from app.web.forms.standouts import StandoutForm
from app.web.funnel_pictures import FunnelLabel, funnel_picture
from app.web.learning import learned_fit
from app.web.permissions import allow
from app.web.rate_addresses import address, pairs_of
from app.web.requests import actor, db, end_reading, today

if TYPE_CHECKING:
    from app.domain.standouts import Standout, Standouts

blueprint = Blueprint("standouts", __name__, url_prefix="/strike-rates")

_SMALL_CHANCE: Final = 0.01
_MOST: Final = 100


@dataclass(frozen=True, kw_only=True)
class StandoutLine:
    """One label in a line of the table, everything in words; `href` opens its batches."""

    name: str
    href: str
    batches: int
    worth: str
    observed: str
    expected: str
    difference: str
    leaning: str
    chance: str
    call: str


@blueprint.route("/standing-out")
@allow(Permission.READ)
def show() -> ResponseReturnValue:
    """Show what needs a look, the likeliest first, with a funnel and how it was worked out."""
    args = MultiDict(request.args.items(multi=True))
    args.setdefault("since", usual_since(today()).isoformat())
    form = StandoutForm(args)
    try:
        question = parse_standouts(
            args.get("by", ""),
            since=request.args.get("since"),
            until=args.get("until", ""),
            today=today(),
            actor=actor(),
        )
    except NotAccepted as refusal:
        form.refuse(refusal)
        return render_template("standouts/show.html", form=form, question=None), 422
    form.by.data = question.by.value
    return render_template("standouts/show.html", form=form, **_shown(question))


def _shown(question: StandoutQuestion) -> dict[str, Any]:
    """Return what the template shows, reckoned outside any transaction."""
    from app.domain.comparisons_batches import known_outcomes  # noqa: PLC0415 - numpy
    from app.domain.standouts import standouts  # noqa: PLC0415 - start-up must not pay for numpy
    from app.store.queries.standouts import read_standouts  # noqa: PLC0415 - numpy

    fit = learned_fit()
    correlation = fit.correlation if fit else ASSUMED_CORRELATION
    records = read_standouts(db(), question=question)
    end_reading()
    found = standouts(
        records.batches,
        labelled=records.labelled,
        outcomes=known_outcomes(records.batches, fit=fit),
        correlation=correlation,
    )
    own = question.only_person_id
    if own is not None and found is not None:
        found = found.only(own)
    names = records.names
    return {
        "question": question,
        "headline": headline(found, by=question.by, names=names)
        if own is None
        else own_headline(found),
        "calls": call_sentences(found, names=names) if own is None else [],
        "caution": CAUTION,
        "found": found,
        "lines": [_line(line, names, question) for line in found.lines[:_MOST]] if found else [],
        "quiet": quiet_sentences(found, shown=_MOST),
        "picture": _picture(found, names) if found and own is None else None,
        "steps": workings(found, correlation=correlation),
        "own": own is not None,
    }


def _line(line: "Standout", names: Mapping[int, str], question: StandoutQuestion) -> StandoutLine:
    name = names[line.label]
    return StandoutLine(
        name=name,
        href=_behind(question, name),
        batches=line.batches,
        worth=f"{line.effective:,.0f}",
        observed=percent(line.observed),
        expected=percent(line.expected),
        difference=difference_words(line),
        leaning=points_words(line.shrunk),
        chance="under 1 %" if line.worse < _SMALL_CHANCE else percent(line.worse),
        call=line.call.value,
    )


def _behind(question: StandoutQuestion, name: str) -> str:
    """Return the address of the batches behind a label; mix lots are no name of strike rates."""
    if question.by is StandoutBy.MIX_LOT:
        return ""
    wanted = RateFilter(key=RateKey(question.by.value), value=name)
    return address("strike_rates.show_batches", pairs_of(question.asked.narrowed(wanted)))


def _picture(found: "Standouts", names: Mapping[int, str]) -> Any:
    labels = [
        FunnelLabel(
            known=found.scatter / line.se**2,
            difference=line.difference,
            name=names[line.label] if line.call else "",
        )
        for line in found.lines
    ]
    return funnel_picture(labels, scatter=found.scatter)
