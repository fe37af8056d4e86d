"""What an empty nursery starts with: lists and cards that the program brings along."""

from datetime import datetime

from sqlalchemy.orm import Session

from app.services.containers import load_starting_containers
from app.services.hormones import load_starting_hormones
from app.services.lost_causes import load_starting_lost_causes
from app.services.method_cards import load_starting_cards
from app.services.mixes import load_starting_mixes


def load_starting_data(session: Session, *, now: datetime) -> None:
    """Put in what is not there yet; running it again changes nothing."""
    load_starting_hormones(session)
    load_starting_containers(session, now=now)
    load_starting_lost_causes(session)
    load_starting_mixes(session, now=now)
    load_starting_cards(session, now=now)
