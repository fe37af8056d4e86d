"""Records that are written elsewhere, as they leave in sheets: holds, passports, practicals.

None of these comes in again: what they say was decided, issued or signed by somebody on a page.
"""

from collections.abc import Sequence
from typing import Any, Final

from sqlalchemy import Select, func, select
from sqlalchemy.orm import Session, aliased

from app.store.models.batches import Batch
from app.store.models.benches import Bench
from app.store.models.checks import Check
from app.store.models.containers import Container
from app.store.models.holds import Hold, HoldItem
from app.store.models.hormones import HormoneRow
from app.store.models.mixes import Mix
from app.store.models.orders import OrderRow
from app.store.models.people import Person
from app.store.models.photographs import Photograph
from app.store.models.plant_names import PlantNameRow
from app.store.models.plant_passports import PlantPassport
from app.store.models.practicals import Practical, PracticalBatch, PracticalPerson
from app.store.models.season_lines import SeasonLineRow
from app.store.models.sign_offs import SignOff
from app.store.models.stock_plants import StockPlant
from app.store.queries.exports import ExportTable, Texts, person_name
from app.store.queries.treatment_exports import clock_texts, listed_texts

_person, _other_person = aliased(Person), aliased(Person)
_suspect_plant, _suspect_batch = aliased(StockPlant), aliased(Batch)
_replaced = aliased(PlantPassport)


def _held(session: Session, keys: Sequence[int]) -> Texts:
    return clock_texts(
        session, query=select(HoldItem.id, HoldItem.held_at).where(HoldItem.id.in_(keys))
    )


def _lifted(session: Session, keys: Sequence[int]) -> Texts:
    return clock_texts(
        session, query=select(HoldItem.id, HoldItem.lifted_at).where(HoldItem.id.in_(keys))
    )


HOLDS: Final = ExportTable(
    key=HoldItem.id,
    columns={
        "hold": Hold.number,
        "suspect": func.coalesce(_suspect_plant.code, _suspect_batch.code),
        "suspected": Hold.suspected,
        "since_on": Hold.since_on,
        "placed_on": Hold.placed_on,
        "placed_by": person_name(_person),
        "held": func.coalesce(StockPlant.code, Batch.code),
        "way": HoldItem.way,
        "lifted_by": person_name(_other_person),
        "lift_reason": HoldItem.lift_reason,
    },
    source=lambda query: (
        query.select_from(HoldItem)
        .join(Hold, Hold.id == HoldItem.hold_id)
        .outerjoin(_suspect_plant, _suspect_plant.id == Hold.stock_plant_id)
        .outerjoin(_suspect_batch, _suspect_batch.id == Hold.batch_id)
        .outerjoin(StockPlant, StockPlant.id == HoldItem.stock_plant_id)
        .outerjoin(Batch, Batch.id == HoldItem.batch_id)
        .outerjoin(_person, _person.id == Hold.placed_by_id)
        .outerjoin(_other_person, _other_person.id == HoldItem.lifted_by_id)
    ),
    lists={"held_at": _held, "lifted_at": _lifted},
)


def _voided(session: Session, keys: Sequence[int]) -> Texts:
    return clock_texts(
        session,
        query=select(PlantPassport.id, PlantPassport.voided_at).where(PlantPassport.id.in_(keys)),
    )


PASSPORTS: Final = ExportTable(
    key=PlantPassport.id,
    columns={
        "passport": PlantPassport.number,
        "batch": Batch.code,
        "territory": PlantPassport.territory,
        "title": PlantPassport.title,
        "a": PlantPassport.a,
        "b": PlantPassport.b,
        "c": PlantPassport.c,
        "d": PlantPassport.d,
        "e": PlantPassport.e,
        "blank_reason": PlantPassport.blank_reason,
        "plants": PlantPassport.plants,
        "labels": PlantPassport.labels,
        "replaces": _replaced.number,
        "issued_on": PlantPassport.issued_on,
        "issued_by": person_name(_person),
        "void_reason": PlantPassport.void_reason,
        "voided_by": person_name(_other_person),
        "note": PlantPassport.note,
    },
    source=lambda query: (
        query.select_from(PlantPassport)
        .join(Batch, Batch.id == PlantPassport.batch_id)
        .outerjoin(_replaced, _replaced.id == PlantPassport.replaces_id)
        .outerjoin(_person, _person.id == PlantPassport.issued_by_id)
        .outerjoin(_other_person, _other_person.id == PlantPassport.voided_by_id)
    ),
    lists={"voided_at": _voided},
)


def _people(session: Session, keys: Sequence[int]) -> Texts:
    query = (
        select(PracticalPerson.practical_id, Person.name)
        .join(Person, Person.id == PracticalPerson.person_id)
        .where(PracticalPerson.practical_id.in_(keys), Person.erased_at.is_(None))
        .order_by(Person.name)
    )
    return listed_texts(session, query=query)


def _batches(session: Session, keys: Sequence[int]) -> Texts:
    query = (
        select(PracticalBatch.practical_id, Batch.code)
        .join(Batch, Batch.id == PracticalBatch.batch_id)
        .where(PracticalBatch.practical_id.in_(keys))
        .order_by(Batch.year, Batch.number)
    )
    return listed_texts(session, query=query)


def _steps(session: Session, keys: Sequence[int]) -> Texts:
    return _lines(session, select(Practical.id, Practical.steps).where(Practical.id.in_(keys)))


def _tools(session: Session, keys: Sequence[int]) -> Texts:
    return _lines(session, select(Practical.id, Practical.tools).where(Practical.id.in_(keys)))


def _cautions(session: Session, keys: Sequence[int]) -> Texts:
    return _lines(session, select(Practical.id, Practical.cautions).where(Practical.id.in_(keys)))


def _lines(session: Session, query: Select[*tuple[Any, ...]]) -> Texts:
    return {key: "\n".join(lines) for key, lines in session.execute(query)}


PRACTICALS: Final = ExportTable(
    key=Practical.id,
    columns={
        "practical": Practical.number,
        "held_on": Practical.held_on,
        "topic": Practical.topic,
        "taught_by": person_name(_person),
        "heads": Practical.heads,
        "plant": PlantNameRow.plain,
        "cutting_type": Practical.cutting_type,
        "per_head": Practical.per_head,
        "per_place": Practical.per_place,
        "hormone": HormoneRow.label,
        "container": Container.name,
        "mix": Mix.name,
        "bench": Bench.name,
        "put_off_from": Practical.put_off_from,
        "put_off_reason": Practical.put_off_reason,
        "cancelled": Practical.cancelled_at.is_not(None),
        "cancel_reason": Practical.cancel_reason,
        "note": Practical.notes,
    },
    source=lambda query: (
        query.select_from(Practical)
        .outerjoin(_person, _person.id == Practical.taught_by_id)
        .outerjoin(PlantNameRow, PlantNameRow.id == Practical.plant_name_id)
        .outerjoin(HormoneRow, HormoneRow.id == Practical.hormone_id)
        .outerjoin(Container, Container.id == Practical.container_id)
        .outerjoin(Mix, Mix.id == Practical.mix_id)
        .outerjoin(Bench, Bench.id == Practical.bench_id)
    ),
    lists={
        "people": _people,
        "batches": _batches,
        "steps": _steps,
        "tools": _tools,
        "cautions": _cautions,
    },
)

SEASON_LINES: Final = ExportTable(
    key=SeasonLineRow.id,
    columns={
        "order": OrderRow.number,
        "week_on": SeasonLineRow.week_on,
        "cuttings": SeasonLineRow.cuttings,
        "by_hand": SeasonLineRow.fixed == 1,
        "note": SeasonLineRow.note,
    },
    source=lambda query: query.join_from(
        SeasonLineRow, OrderRow, OrderRow.id == SeasonLineRow.order_id
    ).where(SeasonLineRow.removed == 0),
)

PHOTOGRAPHS: Final = ExportTable(
    key=Photograph.id,
    columns={
        "photograph": Photograph.id,
        "batch": Batch.code,
        "checked_on": Check.checked_on,
        "stock_plant": StockPlant.code,
        "taken_on": Photograph.taken_on,
        "taken_by": person_name(_person),
        "caption": Photograph.caption,
        "width": Photograph.width,
        "height": Photograph.height,
        "bytes": Photograph.size,
        "sha256": Photograph.sha256,
        "withdrawn": Photograph.withdrawn_at.is_not(None),
        "withdraw_reason": Photograph.withdraw_reason,
    },
    source=lambda query: (
        query.select_from(Photograph)
        .outerjoin(Check, Check.id == Photograph.check_id)
        .outerjoin(Batch, Batch.id == Check.batch_id)
        .outerjoin(StockPlant, StockPlant.id == Photograph.stock_plant_id)
        .outerjoin(_person, _person.id == Photograph.taken_by_id)
    ),
)

SIGN_OFFS: Final = ExportTable(
    key=SignOff.id,
    columns={
        "person": person_name(_person),
        "technique": SignOff.technique,
        "genus": SignOff.genus,
        "signed_on": SignOff.signed_on,
        "signed_by": person_name(_other_person),
        "withdrawn": SignOff.withdrawn_at.is_not(None),
        "withdraw_reason": SignOff.withdrawn_reason,
        "note": SignOff.note,
    },
    source=lambda query: (
        query.select_from(SignOff)
        .join(_person, _person.id == SignOff.person_id)
        .join(_other_person, _other_person.id == SignOff.signed_by_id)
    ),
)
