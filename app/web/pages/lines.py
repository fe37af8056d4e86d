"""The page of a line: where a stock plant or batch came from and everything taken from it."""

from dataclasses import dataclass
from datetime import date
from typing import Final

from flask import Blueprint, render_template, request, url_for
from flask.typing import ResponseReturnValue

from app.domain.line_words import age_words, falling_words, generation_words, members_words
from app.domain.lines import MemberKind
from app.domain.permissions import Permission
from app.domain.strike_rates import ASSUMED_CORRELATION
from app.domain.strike_rates_words import basis_sentence, batches, estimate_words
from app.store.queries.line_answers import Line, LineStep, get_line
from app.store.queries.line_members import LineMember
from app.web.learning import learned_fit
from app.web.permissions import allow
from app.web.requests import db, today

blueprint = Blueprint("lines", __name__, url_prefix="/lines")

_PAGE: Final = 200
_DEEPEST_INDENT: Final = 6


@dataclass(frozen=True, kw_only=True)
class ShownStep:
    """A member of a drawn line as a row: everything in words, `indent` from 1 to 6."""

    indent: int
    step: int
    generation: str
    member: LineMember
    href: str
    age: str
    told_before: bool


@dataclass(frozen=True, kw_only=True)
class ShownRate:
    """The strike rate of a generation in words."""

    generation: str
    first_on: date
    last_on: date
    size: str
    estimate: str
    rests_on: str


@blueprint.route("/<code>")
@allow(Permission.READ)
def show(code: str) -> ResponseReturnValue:
    """Draw the line of a stock plant or batch up and down, with the rates by generation."""
    fit = learned_fit()
    correlation = fit.correlation if fit else ASSUMED_CORRELATION
    line = get_line(db(), code=code, on=today(), correlation=correlation)
    begin = max(request.args.get("from", 0, type=int), 0)
    below = line.down[begin : begin + _PAGE]
    return render_template(
        "lines/show.html",
        line=line,
        href=_href(line.start),
        firsts=[(each, _href(each)) for each in line.firsts],
        generation=generation_words(line.generation),
        above=[_shown(step) for step in line.up[:_PAGE]],
        more_above=max(0, len(line.up) - _PAGE),
        below=[_shown(step) for step in below],
        below_words=members_words(
            [step.known.member.kind for step in line.down if not step.told_before]
        ),
        pages=_pages(line, begin=begin),
        rates=[_rate(line, place) for place in range(len(line.rates))],
        falling=falling_words(line.rates),
        today=today(),
    )


def _shown(step: LineStep) -> ShownStep:
    return ShownStep(
        indent=min(step.depth, _DEEPEST_INDENT),
        step=step.depth,
        generation=generation_words(step.generation),
        member=step.known,
        href=_href(step.known),
        age=age_words(step.known.on, today=today()),
        told_before=step.told_before,
    )


def _href(known: LineMember) -> str:
    page = "batches.show" if known.member.kind is MemberKind.BATCH else "stock_plants.show"
    return url_for(page, code=known.code)


def _rate(line: Line, place: int) -> ShownRate:
    rate = line.rates[place]
    every = rate.square.facts.every
    return ShownRate(
        generation=generation_words(rate.generation),
        first_on=rate.first_on,
        last_on=rate.last_on,
        size=f"{batches(every.batches)}, {every.stuck:,} stuck, {every.rooted:,} rooted",
        estimate=estimate_words(rate.square),
        rests_on=basis_sentence(rate.square),
    )


def _pages(line: Line, *, begin: int) -> dict[str, str | None]:
    """Return the words and addresses of the part of the way down that is in sight."""
    last = min(begin + _PAGE, len(line.down))

    def address(start: int) -> str:
        return f"{url_for('lines.show', code=line.start.code)}?from={start}"

    return {
        "words": f"{begin + 1:,} to {last:,} of {len(line.down):,}",
        "earlier": address(max(begin - _PAGE, 0)) if begin else None,
        "later": address(last) if last < len(line.down) else None,
    }
