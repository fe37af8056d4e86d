"""Reading practical sessions: the list, one of them, those of a day, and the one of a batch."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any, Final

from sqlalchemy import Row, Select, func, select
from sqlalchemy.orm import Session, aliased

from app.domain.codes import parse_practical_code, practical_code
from app.domain.cutting_types import CuttingType
from app.domain.hormones import parse_hormone
from app.domain.practicals import PracticalEntry, PracticalState, state_of
from app.domain.problems import NotFound
from app.store.models.benches import Bench
from app.store.models.containers import Container
from app.store.models.genera import Genus
from app.store.models.hormones import HormoneRow
from app.store.models.method_cards import MethodCard, MethodCardVersion
from app.store.models.mixes import Mix
from app.store.models.people import Person
from app.store.models.plant_names import PlantNameRow
from app.store.models.practicals import Practical, PracticalBatch, PracticalPerson
from app.store.queries.batch_choices import Choice

_AS_STORED: Final = (
    "held_on", "topic", "taught_by_id", "heads", "plant_name_id", "per_head", "per_place",
    "container_id", "mix_id", "bench_id", "method_card_version_id", "notes",
)  # fmt: skip
_NAMES: Final = ("taught_by", "plant", "genus", "container", "mix", "bench", "cancelled_by")


@dataclass(frozen=True, kw_only=True)
class KnownPractical:
    """A practical session as it stands; what it names in words, "" where nothing is.

    `card` says which method card its steps came from; `people` take part, by name.
    """

    id: int
    code: str
    number: int
    version: int
    entry: PracticalEntry
    people: tuple[Choice, ...]
    taught_by: str
    plant: str
    genus: str
    container: str
    mix: str
    bench: str
    card: str
    card_id: int | None
    put_off_from: date | None
    put_off_reason: str
    cancelled_at: datetime | None
    cancelled_by: str
    cancel_reason: str
    batches: int

    @property
    def cancelled(self) -> bool:
        """Whether it does not take place."""
        return self.cancelled_at is not None

    def state(self, today: date) -> PracticalState:
        """Return where it stands on a day."""
        return state_of(self.entry.held_on, cancelled=self.cancelled, today=today)

    def takes_part(self, person_id: int) -> bool:
        """Return whether this person is among those who take part."""
        return person_id in self.entry.people_ids


def list_practicals(
    session: Session, *, before: int | None = None, limit: int = 50
) -> tuple[KnownPractical, ...]:
    """Return practical sessions, the latest day first; those after the first `before` of them.

    One more than `limit` may come, to tell that there are others.
    """
    query = _practicals().order_by(Practical.held_on.desc(), Practical.number.desc())
    return _known(session, session.execute(query.offset(before or 0).limit(limit + 1)).all())


def list_practicals_on(session: Session, *, day: date) -> tuple[KnownPractical, ...]:
    """Return the practical sessions of a day that are not cancelled."""
    query = _practicals().where(Practical.held_on == day, Practical.cancelled_at.is_(None))
    return _known(session, session.execute(query.order_by(Practical.number)).all())


def get_practical(session: Session, *, code: str) -> KnownPractical:
    """Return one practical session by its code.

    Raises:
        NotFound: there is none with this code.
    """
    query = _practicals().where(Practical.number == (parse_practical_code(code) or 0))
    found = _known(session, session.execute(query).all())
    if not found:
        raise NotFound(f"There is no practical session {code}. Its code is like D-0001.")
    return found[0]


def has_practical(session: Session, *, number: int) -> bool:
    """Return whether there is a practical session of this number."""
    return session.scalar(select(Practical.id).where(Practical.number == number)) is not None


def find_practical_of_batch(session: Session, *, batch_id: int) -> KnownPractical | None:
    """Return the practical session that a batch belongs to, None if to none."""
    query = (
        _practicals()
        .join(PracticalBatch, PracticalBatch.practical_id == Practical.id)
        .where(PracticalBatch.batch_id == batch_id)
    )
    found = _known(session, session.execute(query).all())
    return found[0] if found else None


def _practicals() -> Select[*tuple[Any, ...]]:
    taught, cancelled, card_genus = aliased(Person), aliased(Person), aliased(Genus)
    batches = (
        select(func.count())
        .where(PracticalBatch.practical_id == Practical.id)
        .correlate(Practical)
        .scalar_subquery()
    )
    return (
        select(
            Practical.__table__,
            taught.name.label("taught_by"),
            cancelled.name.label("cancelled_by"),
            PlantNameRow.plain.label("plant"),
            Genus.name.label("genus"),
            Container.name.label("container"),
            Mix.name.label("mix"),
            Bench.name.label("bench"),
            HormoneRow.label.label("hormone"),
            MethodCard.id.label("card_id"),
            MethodCard.species.label("card_species"),
            MethodCard.cutting_type.label("card_type"),
            MethodCardVersion.number.label("card_number"),
            card_genus.name.label("card_genus"),
            batches.label("batches"),
        )
        .select_from(Practical)
        .outerjoin(taught, taught.id == Practical.taught_by_id)
        .outerjoin(cancelled, cancelled.id == Practical.cancelled_by_id)
        .outerjoin(PlantNameRow, PlantNameRow.id == Practical.plant_name_id)
        .outerjoin(Genus, Genus.id == PlantNameRow.genus_id)
        .outerjoin(Container, Container.id == Practical.container_id)
        .outerjoin(Mix, Mix.id == Practical.mix_id)
        .outerjoin(Bench, Bench.id == Practical.bench_id)
        .outerjoin(HormoneRow, HormoneRow.id == Practical.hormone_id)
        .outerjoin(MethodCardVersion, MethodCardVersion.id == Practical.method_card_version_id)
        .outerjoin(MethodCard, MethodCard.id == MethodCardVersion.method_card_id)
        .outerjoin(card_genus, card_genus.id == MethodCard.genus_id)
    )


def _known(session: Session, rows: Iterable[Row[*tuple[Any, ...]]]) -> tuple[KnownPractical, ...]:
    found = tuple(rows)
    people = _people(session, [row.id for row in found])
    return tuple(
        KnownPractical(
            id=row.id,
            code=practical_code(row.number),
            number=row.number,
            version=row.version,
            entry=_entry(row, people.get(row.id, ())),
            people=people.get(row.id, ()),
            card=_card(row),
            card_id=row.card_id,
            put_off_from=row.put_off_from,
            put_off_reason=row.put_off_reason,
            cancelled_at=row.cancelled_at,
            cancel_reason=row.cancel_reason,
            batches=row.batches,
            **{name: getattr(row, name) or "" for name in _NAMES},
        )
        for row in found
    )


def _entry(row: Row[*tuple[Any, ...]], people: tuple[Choice, ...]) -> PracticalEntry:
    return PracticalEntry(
        people_ids=tuple(person.id for person in people),
        cutting_type=CuttingType(row.cutting_type) if row.cutting_type else None,
        hormone=parse_hormone(row.hormone) if row.hormone else None,
        steps=tuple(row.steps),
        tools=tuple(row.tools),
        cautions=tuple(row.cautions),
        **{name: getattr(row, name) for name in _AS_STORED},
    )


def _card(row: Row[*tuple[Any, ...]]) -> str:
    if row.card_genus is None:
        return ""
    plant = f"{row.card_genus} {row.card_species}".strip()
    return f"{plant}, {row.card_type}, version {row.card_number}"


def _people(session: Session, ids: list[int]) -> Mapping[int, tuple[Choice, ...]]:
    query = (
        select(PracticalPerson.practical_id, Person.id, Person.name)
        .join(Person, Person.id == PracticalPerson.person_id)
        .where(PracticalPerson.practical_id.in_(ids))
        .order_by(Person.name_key, Person.id)
    )
    found: dict[int, list[Choice]] = {}
    for practical_id, person_id, name in session.execute(query):
        found.setdefault(practical_id, []).append(Choice(id=person_id, name=name))
    return {practical_id: tuple(people) for practical_id, people in found.items()}
