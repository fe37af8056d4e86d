"""Method cards: the starting ones, new ones, changes that make the next version, retiring."""

from collections.abc import Mapping
from dataclasses import replace
from datetime import datetime

from sqlalchemy import select
from sqlalchemy.orm import Session

from app.domain.card_fillings import filled_from_guide, guide_for
from app.domain.cutting_types import CuttingType
from app.domain.method_card_names import accepted_card
from app.domain.method_cards import (
    GROUPS,
    CardEntry,
    CardValues,
    accepted_values,
    group_says,
    own_standings,
)
from app.domain.people import Actor
from app.domain.problems import NotAccepted, NotFound
from app.domain.standings import COMMON_PRACTICE
from app.domain.starting_cards import starting_cards
from app.services.check_plans import refresh_open_batches
from app.services.corrections import correct_row, refuse_stale
from app.services.genera import keep_genus
from app.services.history import differences, record_change
from app.services.method_card_plants import find_card_plant
from app.services.method_card_versions import (
    Saying,
    add_version,
    history_values,
    newest_version,
)
from app.store.models.genera import Genus
from app.store.models.method_cards import MethodCard
from app.store.models.plant_names import PlantNameRow
from app.store.queries.method_cards import values_of


def add_card(session: Session, *, actor: Actor, now: datetime, entry: CardEntry) -> int:
    """Add a card with its first version and return the card's id.

    Its values stand as this nursery's own.

    Raises:
        NotAccepted: the genus or species is no name, the plant name is not in the log, a value is
            out of range, or there is such a card already.
    """
    plant_name_id = None
    if entry.plant.strip():
        found = find_card_plant(session, typed=entry.plant)
        plant_name_id, name = found.plant_name_id, found.name
        entry = replace(entry, plant=name.plain, genus=name.genus, species=name.species)
    entry = accepted_card(entry)
    genus_id = keep_genus(session, name=entry.genus)
    _refuse_second(session, entry, genus_id=genus_id, plant_name_id=plant_name_id)
    card = _add(session, entry, genus_id=genus_id, plant_name_id=plant_name_id)
    saying = Saying(
        values=entry.values,
        standings=own_standings(entry.values, before=None, standings={}),
        by_id=actor.person_id,
    )
    add_version(session, card=card, now=now, saying=saying)
    subject = _subject(session, card)
    record_change(
        session, actor=actor, now=now, what="method card added", subject=subject, change={}
    )
    _refresh(session, card)
    return card.id


def change_card(
    session: Session, *, actor: Actor, now: datetime, card_id: int, version: int, values: CardValues
) -> int:
    """Change what a card says and return the number of the version that holds now.

    A version is never edited. What was changed stands as this nursery's own, the rest keeps
    where it came from. Where the weeks to root change, open batches get their next dates afresh.

    Raises:
        NotAccepted: a value is out of range.
        ChangedMeanwhile: somebody else saved it after `version` was read.
        NotFound: there is no such card.
    """
    card = _get(session, card_id)
    values = accepted_values(values)
    newest = newest_version(session, card=card)
    standings = own_standings(values, before=values_of(newest), standings=newest.standings)
    return _next_version(
        session,
        card,
        actor=actor,
        now=now,
        version=version,
        values=values,
        standings=standings,
    )


def retire_card(
    session: Session, *, actor: Actor, now: datetime, card_id: int, version: int, retired: bool
) -> None:
    """Take a card out of use, so that nothing is filled in from it, or put it back into use.

    Raises:
        ChangedMeanwhile: somebody else saved it after `version` was read.
        NotFound: there is no such card.
    """
    card = _get(session, card_id)
    retired_at = (card.retired_at or now) if retired else None
    changes = correct_row(card, version=version, after={"retired_at": retired_at})
    if changes:
        what = "method card taken out of use" if retired else "method card put back into use"
        subject = _subject(session, card)
        record_change(session, actor=actor, now=now, what=what, subject=subject, change=changes)
        _refresh(session, card)


def load_starting_cards(session: Session, *, actor: Actor | None = None, now: datetime) -> int:
    """Put in each starting card that is not there yet and return how many that were.

    A card that is there, changed or out of use, stays as it is.
    """
    query = (
        select(Genus.name, MethodCard.species, MethodCard.cutting_type)
        .join_from(MethodCard, Genus)
        .where(MethodCard.plant_name_id.is_(None))
    )
    there = {tuple(row) for row in session.execute(query)}
    new = [card for card in starting_cards() if _key(card.entry) not in there]
    for starting in new:
        genus_id = keep_genus(session, name=starting.entry.genus)
        card = _add(session, starting.entry, genus_id=genus_id)
        saying = Saying(
            values=starting.entry.values,
            standings=starting.standings,
            by_id=actor.person_id if actor else None,
        )
        add_version(session, card=card, now=now, saying=saying)
    if new:
        record_change(
            session,
            actor=actor,
            now=now,
            what="starting method cards put in",
            subject="method cards",
            change={"cards": [len(there), len(there) + len(new)]},
        )
        refresh_open_batches(session)
    return len(new)


def fill_card(session: Session, *, actor: Actor, now: datetime, card_id: int) -> int:
    """Fill what a card says nothing on with what is usual for its type; return its version number.

    What is filled in keeps its own standing; what the card says stays.

    Raises:
        NotFound: there is no such card.
    """
    card = _get(session, card_id)
    newest = newest_version(session, card=card)
    before = values_of(newest)
    guide = guide_for(before, cutting_type=CuttingType(card.cutting_type))
    values = filled_from_guide(before, guide=guide)
    usual = {
        group: guide.standings.get(group, COMMON_PRACTICE)
        for group in GROUPS
        if group_says(values, group=group) and not group_says(before, group=group)
    }
    return _next_version(
        session,
        card,
        actor=actor,
        now=now,
        version=card.version,
        values=values,
        standings={**newest.standings, **usual},
    )


def fill_cards(session: Session, *, actor: Actor, now: datetime) -> int:
    """Fill every card in use with what is usual for its type; return how many that changed."""
    cards = session.execute(
        select(MethodCard.id, MethodCard.current).where(MethodCard.retired_at.is_(None))
    ).all()
    return sum(
        fill_card(session, actor=actor, now=now, card_id=row.id) != row.current for row in cards
    )


def _next_version(
    session: Session,
    card: MethodCard,
    *,
    actor: Actor,
    now: datetime,
    version: int,
    values: CardValues,
    standings: Mapping[str, str],
) -> int:
    before = values_of(newest_version(session, card=card))
    changes = differences(history_values(before), after=history_values(values))
    refuse_stale(card, version=version, changes=changes)
    if not changes:
        return card.current
    card.current += 1
    saying = Saying(values=values, standings=standings, by_id=actor.person_id)
    add_version(session, card=card, now=now, saying=saying)
    what = f"method card changed, now version {card.current}"
    subject = _subject(session, card)
    record_change(session, actor=actor, now=now, what=what, subject=subject, change=changes)
    if changes.keys() & {"weeks_low", "weeks_high"}:
        _refresh(session, card)
    return card.current


def _refuse_second(
    session: Session, entry: CardEntry, *, genus_id: int, plant_name_id: int | None
) -> None:
    found = session.scalar(
        select(MethodCard.id).where(
            MethodCard.genus_id == genus_id,
            MethodCard.species == entry.species,
            MethodCard.cutting_type == entry.cutting_type.value,
            MethodCard.plant_name_id.is_(None)
            if plant_name_id is None
            else MethodCard.plant_name_id == plant_name_id,
        )
    )
    if found is not None:
        of = entry.plant or " ".join(part for part in (entry.genus, entry.species) if part)
        sentence = f"There is a card of {of} for {entry.cutting_type} already: change that one."
        raise NotAccepted.at("cutting_type", sentence)


def _add(
    session: Session, entry: CardEntry, *, genus_id: int, plant_name_id: int | None = None
) -> MethodCard:
    card = MethodCard(
        genus_id=genus_id,
        species=entry.species,
        plant_name_id=plant_name_id,
        cutting_type=entry.cutting_type.value,
        current=1,
    )
    session.add(card)
    session.flush()
    return card


def _get(session: Session, card_id: int) -> MethodCard:
    card = session.get(MethodCard, card_id)
    if card is None:
        raise NotFound("There is no such method card.")
    return card


def _refresh(session: Session, card: MethodCard) -> None:
    refresh_open_batches(session, genus_id=card.genus_id, cutting_type=card.cutting_type)


def _subject(session: Session, card: MethodCard) -> str:
    genus = session.scalar(select(Genus.name).where(Genus.id == card.genus_id))
    named = session.get(PlantNameRow, card.plant_name_id) if card.plant_name_id else None
    plant = (named.plain,) if named else (genus, card.species)
    return " ".join(part for part in ("method card", *plant, card.cutting_type) if part)


def _key(entry: CardEntry) -> tuple[str, str, str]:
    return entry.genus, entry.species, entry.cutting_type.value
