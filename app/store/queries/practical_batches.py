"""Reading the batches of a practical session, and what can be chosen for one."""

from dataclasses import dataclass

from sqlalchemy import ColumnElement, func, or_, select
from sqlalchemy.orm import Session

from app.domain.outcomes import Ending, Standing
from app.domain.practical_results import TakenBatch
from app.store.models.batches import Batch, BatchFacts
from app.store.models.benches import Bench
from app.store.models.containers import Container
from app.store.models.mixes import Mix, MixVersion
from app.store.models.people import Person
from app.store.models.plant_names import PlantNameRow
from app.store.models.practicals import PracticalBatch
from app.store.queries.batch_choices import Choice
from app.store.queries.hormones import list_hormones
from app.store.queries.people import list_person_names
from app.store.queries.practicals import KnownPractical


@dataclass(frozen=True, kw_only=True)
class PracticalChoices:
    """What a form of a practical session offers."""

    people: tuple[Choice, ...]
    containers: tuple[Choice, ...]
    mixes: tuple[Choice, ...]
    benches: tuple[Choice, ...]
    hormones: tuple[str, ...]


def list_practical_choices(
    session: Session, *, kept: KnownPractical | None = None
) -> PracticalChoices:
    """Return what is in use now, and what `kept` names although it is in use no more."""
    entry = kept.entry if kept else None
    return PracticalChoices(
        people=_people(session, kept),
        containers=_named(
            session, Container, Container.retired_at, entry.container_id if entry else None
        ),
        mixes=_named(session, Mix, Mix.retired_at, entry.mix_id if entry else None),
        benches=_named(session, Bench, Bench.closed_at, entry.bench_id if entry else None),
        hormones=tuple(known.label for known in list_hormones(session)),
    )


def newest_version_of_mix(session: Session, *, mix_id: int | None) -> int | None:
    """Return the id of the version of a mix that holds now, None without a mix."""
    query = (
        select(MixVersion.id)
        .where(MixVersion.mix_id == mix_id)
        .order_by(MixVersion.number.desc())
        .limit(1)
    )
    return None if mix_id is None else session.scalar(query)


def list_taken_batches(session: Session, *, practical_id: int) -> tuple[TakenBatch, ...]:
    """Return the batches of a practical session, by code, void ones too.

    A batch that names nobody who stuck it is counted to whoever entered it.
    """
    by = func.coalesce(Batch.stuck_by_id, Batch.recorded_by_id)
    query = (
        select(
            Batch.code,
            Batch.voided_at,
            Batch.restuck_from_id,
            Batch.ended_on,
            Batch.ending_kind,
            PlantNameRow.plain,
            Person.id.label("person_id"),
            Person.name.label("person"),
            BatchFacts,
        )
        .join(PracticalBatch, PracticalBatch.batch_id == Batch.id)
        .join(BatchFacts, BatchFacts.batch_id == Batch.id)
        .join(PlantNameRow, PlantNameRow.id == Batch.plant_name_id)
        .outerjoin(Person, Person.id == by)
        .where(PracticalBatch.practical_id == practical_id)
        .order_by(Batch.year, Batch.number)
    )
    return tuple(
        TakenBatch(
            code=row.code,
            plant=row.plain,
            person_id=row.person_id,
            person=row.person or "",
            stuck_on=row.BatchFacts.stuck_on,
            standing=_standing(row.BatchFacts, ended_on=row.ended_on, kind=row.ending_kind),
            void=row.voided_at is not None,
            restuck=row.restuck_from_id is not None,
            cutting_type=row.BatchFacts.cutting_type,
        )
        for row in session.execute(query)
    )


def _standing(facts: BatchFacts, *, ended_on: object, kind: str) -> Standing:
    return Standing(
        stuck=facts.stuck,
        rooted=facts.rooted,
        lost=facts.lost,
        dumped=facts.dumped,
        cleared_unrooted=facts.cleared_unrooted,
        last_looked_on=facts.last_looked_on,
        counted_on=facts.counted_on,
        ended_on=ended_on,  # type: ignore[arg-type]
        ending=Ending(kind),
    )


def _people(session: Session, kept: KnownPractical | None) -> tuple[Choice, ...]:
    choices = {person.id: person.name for person in list_person_names(session)}
    if kept:
        choices |= {person.id: person.name for person in kept.people}
        if kept.entry.taught_by_id is not None:
            choices[kept.entry.taught_by_id] = kept.taught_by
    return tuple(Choice(id=person_id, name=name) for person_id, name in choices.items())


def _named(
    session: Session,
    model: type[Container | Mix | Bench],
    out_of_use: object,
    kept_id: int | None,
) -> tuple[Choice, ...]:
    in_use: ColumnElement[bool] = out_of_use.is_(None)  # type: ignore[attr-defined]
    query = (
        select(model.id, model.name)
        .where(or_(in_use, model.id == kept_id))
        .order_by(func.lower(model.name))
    )
    return tuple(Choice(id=row.id, name=row.name) for row in session.execute(query))
