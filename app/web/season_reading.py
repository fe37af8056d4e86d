"""What a season's plan is made from, read in one go; the planning itself needs no transaction."""

from dataclasses import dataclass
from typing import TYPE_CHECKING

from app.web.learning import learned_books
from app.web.requests import db, end_reading, today

if TYPE_CHECKING:
    from collections.abc import Sequence

    from app.domain.season_answers import FixedLine, SeasonRoom, SeasonWish
    from app.domain.season_lines import SeasonLineKept
    from app.store.queries.season_lines import LastPlan


@dataclass(frozen=True, kw_only=True)
class ReadSeason:
    """The open orders with what they rest on, and the room there is for them."""

    wishes: "tuple[SeasonWish, ...]"
    room: "SeasonRoom"


def read_season(*, trays: int | None, labour: int | None, per_tray: int | None) -> ReadSeason:
    """Return the season to be planned, and end reading; `trays` of None is the room there is."""
    # These load numpy, which a page without sums must not pay for.
    from app.domain.season_answers import USUAL_PER_TRAY, SeasonRoom  # noqa: PLC0415 - as said
    from app.store.queries.season_wishes import (  # noqa: PLC0415 - as said
        free_trays,
        list_wished_orders,
        read_wish,
    )

    books = learned_books()
    wishes = tuple(
        read_wish(db(), books=books, wished=wished, today=today())
        for wished in list_wished_orders(db())
    )
    room = SeasonRoom(
        trays=free_trays(db()) if trays is None else trays,
        labour=labour,
        per_tray=per_tray or USUAL_PER_TRAY,
    )
    end_reading()
    return ReadSeason(wishes=wishes, room=room)


def fixed_lines(kept: "Sequence[SeasonLineKept]") -> "tuple[FixedLine, ...]":
    """Return lines of the board as the plan takes them."""
    from app.domain.season_answers import FixedLine  # noqa: PLC0415 - loads numpy

    return tuple(
        FixedLine(order=line.order, week_on=line.entry.week_on, cuttings=line.entry.cuttings)
        for line in kept
    )


def room_of(last: "LastPlan | None") -> dict[str, int | None]:
    """Return the room that the board was planned under, None for what was not given."""
    names = ("trays", "labour", "per_tray")
    return {name: getattr(last, name) if last else None for name in names}
