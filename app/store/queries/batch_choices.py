"""Reading what can be chosen for a batch: benches, containers, mixes, people, hormones, covers."""

from dataclasses import dataclass
from typing import Any, Final

from sqlalchemy import ColumnElement, Select, func, or_, select
from sqlalchemy.orm import Session

from app.domain.batches import USUAL_COVERS, USUAL_SHADES, BatchEntry
from app.store.models.batches import Batch
from app.store.models.benches import Bench
from app.store.models.containers import Container
from app.store.models.mixes import Mix, MixVersion
from app.store.models.people import Person
from app.store.queries.hormones import list_hormones
from app.store.queries.mix_lot_choices import OpenLot, list_open_lots
from app.store.queries.mixes import list_mix_choices
from app.store.queries.people import list_person_names

_RECENT: Final = 500


@dataclass(frozen=True, kw_only=True)
class Choice:
    """One thing to choose from a list."""

    id: int
    name: str


@dataclass(frozen=True, kw_only=True)
class BatchChoices:
    """Everything a form of a batch offers, each in the order a person looks for it.

    Hormones, covers and shades are offered words; others can be typed.
    """

    benches: tuple[Choice, ...]
    containers: tuple[Choice, ...]
    mixes: tuple[Choice, ...]
    people: tuple[Choice, ...]
    hormones: tuple[str, ...]
    covers: tuple[str, ...]
    shades: tuple[str, ...] = USUAL_SHADES
    mix_lots: tuple[OpenLot, ...] = ()


def list_batch_choices(session: Session, *, kept: BatchEntry | None = None) -> BatchChoices:
    """Return what is in use now, and what `kept` already names although it is in use no more."""
    return BatchChoices(
        benches=_chosen(session, _benches(kept)),
        containers=_chosen(session, _containers(kept)),
        mixes=_mixes(session, kept),
        people=_people(session, kept),
        hormones=tuple(known.label for known in list_hormones(session)),
        covers=_covers(session),
        mix_lots=list_open_lots(session),
    )


def _benches(kept: BatchEntry | None) -> Select[*tuple[Any, ...]]:
    in_use = _or_kept(Bench.closed_at.is_(None), Bench.id, kept.bench_id if kept else None)
    return select(Bench.id, Bench.name).where(in_use).order_by(Bench.walking_order, Bench.name)


def _containers(kept: BatchEntry | None) -> Select[*tuple[Any, ...]]:
    in_use = _or_kept(
        Container.retired_at.is_(None), Container.id, kept.container_id if kept else None
    )
    return select(Container.id, Container.name).where(in_use).order_by(func.lower(Container.name))


def _or_kept(in_use: ColumnElement[bool], column: Any, kept_id: int | None) -> ColumnElement[bool]:
    return in_use if kept_id is None else or_(in_use, column == kept_id)


def _mixes(session: Session, kept: BatchEntry | None) -> tuple[Choice, ...]:
    choices = [
        Choice(id=choice.mix_version_id, name=choice.name) for choice in list_mix_choices(session)
    ]
    version_id = kept.mix_version_id if kept else None
    if version_id is not None and version_id not in {choice.id for choice in choices}:
        query = (
            select(Mix.name, MixVersion.number)
            .join(MixVersion, MixVersion.mix_id == Mix.id)
            .where(MixVersion.id == version_id)
        )
        row = session.execute(query).one()
        choices.append(Choice(id=version_id, name=f"{row.name}, version {row.number}"))
    return tuple(choices)


def _people(session: Session, kept: BatchEntry | None) -> tuple[Choice, ...]:
    choices = {person.id: person.name for person in list_person_names(session)}
    named = {kept.gathered_by_id, kept.made_by_id, kept.stuck_by_id} - {None} if kept else set()
    if missing := named - choices.keys():
        query = select(Person.id, Person.name).where(Person.id.in_(missing))
        choices |= {row.id: row.name for row in session.execute(query)}
    return tuple(Choice(id=person_id, name=name) for person_id, name in choices.items())


def _covers(session: Session) -> tuple[str, ...]:
    recent = select(Batch.cover).order_by(Batch.id.desc()).limit(_RECENT).subquery("recent")
    used = session.scalars(select(recent.c.cover).where(recent.c.cover != "").distinct())
    return tuple(dict.fromkeys((*USUAL_COVERS, *sorted(used))))


def _chosen(session: Session, query: Select[*tuple[Any, ...]]) -> tuple[Choice, ...]:
    return tuple(Choice(id=row.id, name=row.name) for row in session.execute(query))
