"""In season now: what to take in a month, for which orders, from which stock plants."""

from dataclasses import dataclass

from flask import Blueprint, render_template, request
from flask.typing import ResponseReturnValue

from app.domain.card_months import YEAR
from app.domain.days import MONTHS
from app.domain.in_season import InSeason, KeptStock, list_in_season, standing_words
from app.domain.method_card_words import CardLine, card_lines
from app.domain.permissions import Permission
from app.domain.strike_rates_keys import RateKey
from app.domain.strike_rates_questions import USUAL_RESTUCK, RateFilter, RateQuestion, Ways
from app.domain.strike_rates_words import batches, estimate_words
from app.store.queries.in_season import (
    list_cards_with_months,
    list_kept_stock,
    list_wanted_plants,
)
from app.store.queries.method_cards import list_cards
from app.web.learning import learned_answer
from app.web.permissions import allow
from app.web.requests import db, now, nursery, today

blueprint = Blueprint("in_season", __name__, url_prefix="/plan/in-season")


@dataclass(frozen=True, kw_only=True)
class ShownSeason:
    """A card in season as the page shows it; `rate` is "" where nothing was stuck in the month."""

    found: InSeason
    stock: tuple[tuple[KeptStock, str], ...]
    rate: str
    hormone: CardLine | None
    weeks: CardLine | None


@blueprint.route("")
@allow(Permission.READ)
def show() -> ResponseReturnValue:
    """List what is in season in a month, this one unless asked for another."""
    asked = request.args.get("month", today().month, type=int)
    month = asked if 1 <= asked <= YEAR else today().month
    rates = _rates(month)
    found = list_in_season(
        month,
        cards=list_cards_with_months(db()),
        stock=list_kept_stock(db(), on=today(), now=now()),
        orders=list_wanted_plants(db()),
        hemisphere=nursery().hemisphere,
    )
    lines = _card_lines()
    return render_template(
        "in_season/show.html",
        month=month,
        months=tuple(enumerate(MONTHS, start=1)),
        is_now=month == today().month,
        here=[_shown(each, rates=rates, lines=lines) for each in found if each.is_here],
        others=[each for each in found if not each.is_here],
        today=today(),
    )


def _shown(
    found: InSeason, *, rates: dict[tuple[str, ...], str], lines: dict[int, dict[str, CardLine]]
) -> ShownSeason:
    of_card = lines.get(found.card.card_id, {})
    return ShownSeason(
        found=found,
        stock=tuple(
            (each, standing_words(each, today=today(), zone=nursery().zone)) for each in found.stock
        ),
        rate=rates.get((found.card.genus, found.card.cutting_type.value), ""),
        hormone=of_card.get("hormone"),
        weeks=of_card.get("weeks"),
    )


def _rates(month: int) -> dict[tuple[str, ...], str]:
    """Return what struck of each genus and type stuck in the month, with range and batches."""
    question = RateQuestion(
        by=(RateKey.GENUS, RateKey.CUTTING_TYPE),
        where=(RateFilter(key=RateKey.MONTH, value=str(month)),),
        restuck=USUAL_RESTUCK,
        ways=Ways.CUTTINGS,
    )
    return {
        group.values: f"{estimate_words(group.square)}, {batches(group.facts.every.batches)}"
        for group in learned_answer(question).groups
    }


def _card_lines() -> dict[int, dict[str, CardLine]]:
    return {
        card.id: {
            line.group: line
            for line in card_lines(
                card.values,
                cutting_type=card.cutting_type,
                standings=card.standings,
                hemisphere=nursery().hemisphere,
            )
        }
        for card in list_cards(db())
    }
