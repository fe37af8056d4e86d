"""Practical sessions of the invented nursery: one that is over, with its batches, and one ahead."""

from datetime import date, timedelta
from typing import Final

from sqlalchemy import select
from sqlalchemy.orm import Session

from app.domain.cutting_types import CuttingType
from app.domain.practicals import PracticalEntry
from app.services.practical_batches import add_to_practical
from app.services.practical_readings import acknowledge_cautions, note_read_aloud
from app.services.practicals import plan_practical
from app.store.models.batches import Batch
from app.store.models.people import Person
from app.store.queries.practical_cautions import get_caution_text
from app.store.queries.practicals import get_practical
from app.store.session import Database
from seed_demo.desk import Desk, instant
from seed_demo.places import HEAD, SEASONAL, SECOND_TRAINEE, TRAINEE, DemoPerson

_LEARNERS: Final = (SECOND_TRAINEE, TRAINEE, SEASONAL)
_OVER_FOR: Final = 75
_WITHIN: Final = timedelta(days=10)
_AHEAD: Final = timedelta(days=6)
_STEPS: Final = (
    "Take shoots early, before the sun, into a damp bag",
    "Disinfect the knife between stock plants",
    "Cut below a node, strip the lower leaves, halve the large ones",
    "Dip only the base, tap off what is too much",
    "Stick to the first leaf, firm with two fingers, label at once",
    "Water in and close the cover",
)
_TOOLS: Final = ("knife", "dibber", "pair of gloves", "1 sprayer for all")


def tell_practicals(database: Database, desk: Desk) -> None:
    """Tell one practical session with batches that were stuck then, and plan one ahead."""
    with database.writing() as session:
        people = _people(session)
        first = _newest_of(session, desk, person_id=people.get(SECOND_TRAINEE.name))
        if first is not None:
            _hold(session, desk, first=first, people=people)
        ahead = PracticalEntry(
            held_on=desk.today + _AHEAD,
            topic="Hardwood cuttings in the open ground",
            taught_by_id=people.get(HEAD.name),
            people_ids=tuple(people[each.name] for each in _LEARNERS if each.name in people),
            cutting_type=CuttingType.HARDWOOD,
            steps=("Choose ripe shoots of this year", *_STEPS[1:2], "Cut to 20 to 25 cm"),
            tools=_TOOLS,
        )
        plan_practical(
            session,
            actor=desk.writer(HEAD),
            today=desk.today,
            now=instant(desk.today, 7, 30),
            entry=ahead,
        )


def _hold(session: Session, desk: Desk, *, first: Batch, people: dict[str, int]) -> None:
    day = first.stuck_on
    planned_on = day - timedelta(days=5)
    head = desk.writer(HEAD)
    entry = PracticalEntry(
        held_on=day,
        topic="Taking and sticking cuttings, from the stock plant to the bench",
        taught_by_id=people.get(HEAD.name),
        people_ids=tuple(people[each.name] for each in _LEARNERS if each.name in people),
        plant_name_id=first.plant_name_id,
        per_head=40,
        container_id=first.container_id,
        bench_id=first.bench_id,
        steps=_STEPS,
        tools=_TOOLS,
        cautions=("The floor by the mist bench is slippery",),
    )
    made = plan_practical(
        session, actor=head, today=planned_on, now=instant(planned_on, 12), entry=entry
    )
    _read_cautions(session, desk, code=made.code, day=day, people=people)
    for learner in _LEARNERS:
        batch = _next_of(session, person_id=people[learner.name], since=day)
        if batch is not None:
            now = instant(batch.stuck_on, 16)
            add_to_practical(session, actor=head, now=now, code=made.code, batch_code=batch.code)


def _read_cautions(
    session: Session, desk: Desk, *, code: str, day: date, people: dict[str, int]
) -> None:
    known = get_practical(session, code=code)
    shown = get_caution_text(session, practical=known).fingerprint
    for trainee in (SECOND_TRAINEE, TRAINEE):
        acknowledge_cautions(
            session,
            actor=desk.actors[trainee.name],
            today=day,
            now=instant(day, 8),
            code=code,
            fingerprint=shown,
        )
    note_read_aloud(
        session,
        actor=desk.writer(HEAD),
        today=day,
        now=instant(day, 8, 10),
        code=code,
        fingerprint=shown,
        people_ids=[people[SEASONAL.name]],
    )


def _people(session: Session) -> dict[str, int]:
    wanted: tuple[DemoPerson, ...] = (HEAD, *_LEARNERS)
    query = select(Person.name, Person.id).where(Person.name.in_([each.name for each in wanted]))
    return {row.name: row.id for row in session.execute(query)}


def _newest_of(session: Session, desk: Desk, *, person_id: int | None) -> Batch | None:
    query = (
        select(Batch)
        .where(
            Batch.stuck_by_id == person_id,
            Batch.stuck_on <= desk.today - timedelta(days=_OVER_FOR),
            Batch.voided_at.is_(None),
            Batch.restuck_from_id.is_(None),
        )
        .order_by(Batch.stuck_on.desc(), Batch.id)
        .limit(1)
    )
    return None if person_id is None else session.scalar(query)


def _next_of(session: Session, *, person_id: int, since: date) -> Batch | None:
    query = (
        select(Batch)
        .where(
            Batch.stuck_by_id == person_id,
            Batch.stuck_on.between(since, since + _WITHIN),
            Batch.voided_at.is_(None),
            Batch.restuck_from_id.is_(None),
        )
        .order_by(Batch.stuck_on, Batch.id)
        .limit(1)
    )
    return session.scalar(query)
