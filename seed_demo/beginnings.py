"""Before the first batch: nursery, people, benches, mixes, plant names and stock plants."""

from collections.abc import Mapping
from datetime import date, datetime, timedelta
from random import Random
from typing import Final

from sqlalchemy import Select, select
from sqlalchemy.orm import Session

from app.domain.benches import BenchEntry
from app.domain.people import Actor, Role
from app.domain.plant_names import parse_plant_name
from app.domain.stock_plants import Origin, StockPlantEntry
from app.services.benches import add_bench
from app.services.mixes import add_mix
from app.services.nursery import correct_nursery
from app.services.passwords import hash_password
from app.services.people import PersonEntry, add_person, set_password
from app.services.plant_names import keep_plant_name
from app.services.stock_plants import add_stock_plant
from app.store.models.accounts import Account
from app.store.models.benches import Bench
from app.store.models.containers import Container
from app.store.models.mixes import Mix, MixVersion
from app.store.models.people import Person
from app.store.queries.nursery import get_nursery
from seed_demo.entries import Known
from seed_demo.places import BENCHES, HEAD, MIXES, NURSERY, PEOPLE, SUPPLIERS, DemoPerson
from seed_demo.plants import Habit, read_habits

_OLDEST_YEARS: Final = 7


def begin(
    session: Session, *, first: date, now: datetime, dice: Random
) -> tuple[Known, dict[tuple[str, int], StockPlantEntry]]:
    """Set the nursery up on its first day; return what batches lean on, and the stock plants."""
    correct_nursery(
        session, actor=None, now=now, version=get_nursery(session).version, entry=NURSERY
    )
    for person in PEOPLE:
        if person.from_day == 0:
            bring_in(session, person, now=now)
    head = actor_of(session, HEAD)
    for bench in BENCHES:
        bench_entry = BenchEntry(name=bench.name, capacity_trays=bench.trays)
        add_bench(session, actor=head, now=now, entry=bench_entry)
    for mix in MIXES:
        add_mix(session, actor=head, now=now, entry=mix)
    plants = {}
    stock_plants, entries = {}, {}
    for habit in read_habits():
        name = parse_plant_name(habit.name).name
        plants[habit.name] = keep_plant_name(session, actor=head, now=now, name=name)
        for row in range(habit.stock_plants):
            entry = _stock_plant(habit, plants[habit.name], row=row, first=first, dice=dice)
            entries[habit.name, row] = entry
            stock_plants[habit.name, row] = add_stock_plant(
                session, actor=head, today=first, now=now, entry=entry
            ).id
    return known_rows(session, plants=plants, stock_plants=stock_plants), entries


def bring_in(session: Session, person: DemoPerson, *, now: datetime) -> None:
    """Add somebody; who has a role can sign in with the password that the demo prints."""
    entry = PersonEntry(name=person.name, role=person.role)
    key = add_person(session, actor=None, now=now, entry=entry)
    if person.role is not None:
        account_id = session.scalars(
            select(Account.id).join(Person, Person.id == Account.person_id).where(Person.key == key)
        ).one()
        password_hash = hash_password(person.password)
        set_password(session, now=now, account_id=account_id, password_hash=password_hash)


def actor_of(session: Session, person: DemoPerson) -> Actor:
    """Return the person as one who acts; somebody without a sign-in acts as a trainee would."""
    row = session.execute(select(Person.id, Person.key).where(Person.name == person.name)).one()
    return Actor(
        person_id=row.id,
        person_key=row.key,
        name=person.name,
        role=person.role or Role.TRAINEE,
    )


def known_rows(
    session: Session, *, plants: Mapping[str, int], stock_plants: Mapping[tuple[str, int], int]
) -> Known:
    """Return the ids of what there is by name, mixes in their newest version."""
    newest = (
        select(Mix.name, MixVersion.id)
        .join(MixVersion, MixVersion.mix_id == Mix.id)
        .order_by(MixVersion.number)
    )
    return Known(
        plants=plants,
        stock_plants=stock_plants,
        benches=_by_name(session, select(Bench.name, Bench.id)),
        containers=_by_name(session, select(Container.name, Container.id)),
        mixes=_by_name(session, newest),
        people=_by_name(session, select(Person.name, Person.id)),
    )


def _by_name(session: Session, query: Select[str, int]) -> dict[str, int]:
    return {row[0]: row[1] for row in session.execute(query)}


def _stock_plant(
    habit: Habit, plant_name_id: int, *, row: int, first: date, dice: Random
) -> StockPlantEntry:
    came_on = first - timedelta(days=dice.randint(200, 365 * _OLDEST_YEARS))
    bought = dice.random() < 0.5
    return StockPlantEntry(
        plant_name_id=plant_name_id,
        plants=dice.choice((6, 8, 10, 12, 16, 24)),
        origin=Origin.BOUGHT_IN if bought else Origin.RAISED_HERE,
        supplier=dice.choice(SUPPLIERS) if bought else "",
        supplier_reference=f"{came_on:%y}/{dice.randint(100, 999)}" if bought else "",
        came_on=came_on,
        rest_weeks=dice.choice((None, 3, 4, 6)),
        expected_per_plant=float(dice.choice((12, 15, 20, 30, 40))),
        renew_by=came_on + timedelta(days=365 * (_OLDEST_YEARS + 3)),
        true_to_type_on=first - timedelta(days=dice.randint(30, 160)),
        notes=f"Row {row + 1}" if habit.stock_plants > 1 else "",
    )
