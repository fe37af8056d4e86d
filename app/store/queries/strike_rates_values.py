"""The values that can be chosen for a name, for lists on a page."""

from sqlalchemy import select
from sqlalchemy.orm import Session

from app.domain.strike_rates_keys import RateKey, in_order
from app.domain.strike_rates_questions import DayOf
from app.store.models.people import Person
from app.store.queries.strike_rates_names import source_of


def list_rate_values(session: Session, *, key: RateKey) -> tuple[str, ...]:
    """Return what a name's register calls its records, in order; none where it has no register.

    People who were erased from the log are left out.
    """
    register = source_of(key, day_of=DayOf.STUCK).register
    if register is None:
        return ()
    query = select(register.label).distinct()
    if key is RateKey.PERSON:
        query = query.where(Person.erased_at.is_(None))
    return in_order(session.scalars(query), key=key)
