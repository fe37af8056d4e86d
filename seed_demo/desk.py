"""The desk at which the story is written down: who acts, at which instant, on which rows."""

from collections.abc import Mapping
from datetime import UTC, date, datetime, time
from random import Random
from typing import Final
from zoneinfo import ZoneInfo

from sqlalchemy.orm import Session

from app.domain.people import Actor
from app.domain.stock_plants import StockPlantEntry
from seed_demo.beginnings import actor_of, bring_in, known_rows
from seed_demo.entries import Known
from seed_demo.places import HEAD, NURSERY, SECOND_TRAINEE, TRAINEE, DemoPerson

Row = tuple[str, int]
_CHECKERS: Final = ((HEAD, 0.35), (TRAINEE, 0.4), (SECOND_TRAINEE, 0.25))


class Desk:
    """What every entry of the story needs. `out_of_use` are rows of mother plants not cut now."""

    def __init__(
        self,
        *,
        first: date,
        today: date,
        seed: int,
        known: Known,
        stock_entries: Mapping[Row, StockPlantEntry],
    ) -> None:
        self.first = first
        self.today = today
        self.seed = seed
        self.known = known
        self.stock_entries = dict(stock_entries)
        self.out_of_use: set[Row] = set()
        self.actors: dict[str, Actor] = {}

    def welcome(self, session: Session, person: DemoPerson, *, now: datetime) -> None:
        """Let somebody take part who is new, or was there from the first day."""
        if person.name not in self.known.people:
            bring_in(session, person, now=now)
            self.look_up(session)
        self.actors[person.name] = actor_of(session, person)

    def look_up(self, session: Session) -> None:
        """Read the rows that batches lean on afresh."""
        self.known = known_rows(
            session, plants=self.known.plants, stock_plants=self.known.stock_plants
        )

    def writer(self, person: DemoPerson) -> Actor:
        """Return who enters what this person did: a trainee, for somebody who does not sign in."""
        return self.actors[person.name if person.role else TRAINEE.name]

    def checker(self, dice: Random) -> Actor:
        """Return somebody who checks today."""
        here = [(person, share) for person, share in _CHECKERS if person.name in self.actors]
        shares = [share for _, share in here]
        person = dice.choices([person for person, _ in here], weights=shares)[0]
        return self.actors[person.name]


def instant(day: date, hour: int, minute: int = 0) -> datetime:
    """Return the instant of a local time of the invented nursery."""
    local = datetime.combine(day, time(hour, minute), ZoneInfo(NURSERY.zone))
    return local.astimezone(UTC)
