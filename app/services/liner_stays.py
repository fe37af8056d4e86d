"""Where liner lots stand: each stay on a bench has a first day and, once over, a last.

An empty lot keeps its stay: who lists a bench asks for lots with plants in them.
"""

from datetime import date

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from app.store.models.benches import BenchStay


def correct_first_lot_stay(session: Session, *, lot_id: int, from_on: date) -> None:
    """Let a lot stand where it stood first from the day it was really made; moves are kept."""
    first = select(func.min(BenchStay.id)).where(BenchStay.liner_lot_id == lot_id)
    stay = session.get(BenchStay, session.scalar(first) or 0)
    if stay is not None:
        stay.from_on = from_on if stay.to_on is None else min(from_on, stay.to_on)
