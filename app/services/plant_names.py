"""Plant names: keeping one when it is first used, correcting it, and telling what was typed."""

from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import select, update
from sqlalchemy.orm import Session

from app.domain.codes import parse_stock_plant_code
from app.domain.people import Actor
from app.domain.plant_name_entries import PlantNameEntry, accepted_plant_name
from app.domain.plant_names import (
    NameStatus,
    PlantName,
    accept_plant_name,
    kept_plant_name,
    parse_plant_name,
)
from app.domain.problems import NotAccepted, NotFound
from app.services.batch_facts import refresh_many
from app.services.corrections import correct_row, plain_value, refuse_stale
from app.services.genera import keep_genus
from app.services.history import JsonValue, record_change
from app.store.models.batches import Batch
from app.store.models.genera import Genus
from app.store.models.method_cards import MethodCard
from app.store.models.plant_names import PlantNameRow
from app.store.models.stock_plants import StockPlant
from app.store.queries.plant_names import find_like_named, find_plant_name_id


@dataclass(frozen=True, kw_only=True)
class ResolvedPlant:
    """What a text typed for a plant stands for.

    `plant_name_id` is None while the name is not in the log; `stock_plant_id` and its code are
    there if a stock plant's code was typed. With status WARN a person has to confirm `notes`.
    """

    name: PlantName
    status: NameStatus = NameStatus.OK
    notes: tuple[str, ...] = ()
    plant_name_id: int | None = None
    stock_plant_id: int | None = None
    stock_plant_code: str = ""


def resolve_plant(session: Session, *, typed: str) -> ResolvedPlant:
    """Return the plant that a typed name or a stock plant's code stands for.

    A name already in the log is taken without a question, also when it is typed without its
    quotation marks or capitals, as long as only one is like it.

    Raises:
        NotAccepted: at "plant", no such code, or no name by the rules.
    """
    number = parse_stock_plant_code(typed)
    if number is not None:
        return _of_stock_plant(session, number, typed=typed)
    try:
        parsed = parse_plant_name(typed)
    except NotAccepted:
        known = _like(session, typed)
        if known is None:
            raise
        return known
    found = find_plant_name_id(session, plain=parsed.normalised)
    if found is not None:
        status = NameStatus.OK if parsed.status is NameStatus.OK else NameStatus.NORMALISE
        return ResolvedPlant(name=parsed.name, status=status, plant_name_id=found)
    known = _like(session, parsed.normalised)
    if known is not None:
        return known
    return ResolvedPlant(name=parsed.name, status=parsed.status, notes=parsed.notes)


def keep_plant_name(
    session: Session, *, actor: Actor | None, now: datetime, name: PlantName
) -> int:
    """Return the id of this name, adding it with its genus if it is new."""
    found = find_plant_name_id(session, plain=name.plain)
    if found is not None:
        return found
    return add_plant_name(session, actor=actor, now=now, entry=PlantNameEntry(name=name))


def keep_typed_plant(
    session: Session, *, actor: Actor | None, now: datetime, typed: str, confirmed: str = ""
) -> int:
    """Return the id of the name that was typed, adding it if it is new.

    Raises:
        NotAccepted: at "plant", no name, or one that asks a question which `confirmed` (the
            name's plain line, from the tick beside it) does not answer.
    """
    plant = resolve_plant(session, typed=typed)
    if plant.plant_name_id is not None:
        return plant.plant_name_id
    name = accept_plant_name(typed, confirmed=confirmed)
    return keep_plant_name(session, actor=actor, now=now, name=name)


def add_plant_name(
    session: Session, *, actor: Actor | None, now: datetime, entry: PlantNameEntry
) -> int:
    """Add a name with what stands beside it and return its id.

    Raises:
        NotAccepted: the name is in the log already, or the entry breaks a rule.
    """
    entry = accepted_plant_name(entry)
    _refuse_taken(session, entry.name, but=None)
    row = PlantNameRow(**_values(session, entry))
    session.add(row)
    session.flush()
    _set_family(session, actor, now, genus_id=row.genus_id, family=entry.family)
    _write(session, actor, now, "plant name added", row.plain, {})
    return row.id


def correct_plant_name(
    session: Session,
    *,
    actor: Actor | None,
    now: datetime,
    plant_name_id: int,
    version: int,
    entry: PlantNameEntry,
) -> None:
    """Correct a name or what stands beside it; batches and stock plants of it follow.

    Raises:
        NotAccepted: another name is written like this already, or the entry breaks a rule.
        ChangedMeanwhile: somebody else saved it after `version` was read.
        NotFound: there is no such name.
    """
    row = session.get(PlantNameRow, plant_name_id)
    if row is None:
        raise NotFound("This plant name is not in the list.")
    entry = accepted_plant_name(entry)
    _refuse_taken(session, entry.name, but=plant_name_id)
    values = _values(session, entry)
    told = _told_changes(row, values)
    refuse_stale(row, version=version, changes=told)
    changes = correct_row(row, version=version, after=values)
    session.flush()
    if {"genus_id", "species"} & changes.keys():
        # Rates go by genus, and check plans by genus and species: what rests on them follows,
        # and so does a card of its own.
        of_name = select(Batch.id).where(Batch.plant_name_id == plant_name_id)
        cards = update(MethodCard).where(MethodCard.plant_name_id == plant_name_id)
        session.execute(cards.values(genus_id=row.genus_id, species=row.species))
        refresh_many(session, batch_ids=session.scalars(of_name).all())
    if "genus_id" not in changes:
        _set_family(session, actor, now, genus_id=row.genus_id, family=entry.family)
    if told:
        _write(session, actor, now, "plant name corrected", row.plain, told)


# The name in one line tells what changed in its parts, and no row id belongs in the history.
_TOLD = (
    "plain", "trade_designation", "common_name", "rights_grant", "rights_licence",
    "rights_until", "notes",
)  # fmt: skip


def _told_changes(row: PlantNameRow, values: dict[str, Any]) -> dict[str, JsonValue]:
    return {
        field: [plain_value(getattr(row, field)), plain_value(values[field])]
        for field in _TOLD
        if getattr(row, field) != values[field]
    }


def _values(session: Session, entry: PlantNameEntry) -> dict[str, Any]:
    name = entry.name
    second = name.second_parent
    return {
        "plain": name.plain,
        "genus_id": keep_genus(session, name=name.genus),
        "hybrid": str(name.hybrid),
        "species": name.species,
        "infraspecific": name.infraspecific,
        "group_epithet": name.group,
        "grex": name.grex,
        "cultivar": name.cultivar,
        "second_parent": second.plain if second else "",
        "qualifier": name.qualifier,
        "trade_designation": entry.trade_designation,
        "common_name": entry.common_name,
        "rights_grant": entry.rights_grant,
        "rights_licence": entry.rights_licence,
        "rights_until": entry.rights_until,
        "notes": entry.notes,
    }


def _set_family(
    session: Session, actor: Actor | None, now: datetime, *, genus_id: int, family: str
) -> None:
    """Put a family that was typed beside a name to its genus; a blank one changes nothing."""
    genus = session.get_one(Genus, genus_id)
    before = genus.family
    if family in {"", before}:
        return
    genus.family = family
    session.flush()
    record_change(
        session,
        actor=actor,
        now=now,
        what="genus corrected",
        subject=f"genus {genus.name}",
        change={"family": [before, family]},
    )


def _of_stock_plant(session: Session, number: int, *, typed: str) -> ResolvedPlant:
    row = session.scalars(select(StockPlant).where(StockPlant.number == number)).one_or_none()
    if row is None:
        sentence = f"There is no stock plant {typed.strip()}. Type its plant name instead."
        raise NotAccepted.at("plant", sentence)
    plain = session.get_one(PlantNameRow, row.plant_name_id).plain
    return ResolvedPlant(
        name=kept_plant_name(plain),
        plant_name_id=row.plant_name_id,
        stock_plant_id=row.id,
        stock_plant_code=row.code,
    )


def _like(session: Session, typed: str) -> ResolvedPlant | None:
    """Return the one name in the log that differs only in quotation marks and capitals."""
    found = find_like_named(session, text=typed)
    if found is None:
        return None
    plain = session.get_one(PlantNameRow, found).plain
    return ResolvedPlant(
        name=kept_plant_name(plain),
        status=NameStatus.NORMALISE,
        notes=(f"Taken as {plain}, which is in the log.",),
        plant_name_id=found,
    )


def _refuse_taken(session: Session, name: PlantName, *, but: int | None) -> None:
    found = find_plant_name_id(session, plain=name.plain)
    if found is not None and found != but:
        sentence = f"{name.plain} is in the list already: use that one, or correct it."
        raise NotAccepted.at("plant", sentence)


def _write(
    session: Session,
    actor: Actor | None,
    now: datetime,
    what: str,
    plain: str,
    change: dict[str, JsonValue],
) -> None:
    record_change(
        session, actor=actor, now=now, what=what, subject=f"plant name {plain}", change=change
    )
