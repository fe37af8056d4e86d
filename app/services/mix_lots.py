"""Mix lots: making one up, correcting it, emptying it, what batches used of it."""

from dataclasses import dataclass
from datetime import date, datetime
from typing import Any, Final

from sqlalchemy import delete, func, select
from sqlalchemy.orm import Session
from sqlalchemy.orm.attributes import flag_modified

from app.domain.batch_rights import may_correct_batch
from app.domain.codes import mix_lot_code
from app.domain.mix_lots import LotIngredient, MixLotEntry, accepted_mix_lot, amount_words
from app.domain.people import Actor
from app.domain.problems import NotAccepted, NotAllowed, NotFound
from app.services.corrections import plain_value, refuse_stale
from app.services.history import JsonValue, differences, record_change
from app.services.mix_parts import keep_ingredient
from app.store.models.batches import Batch
from app.store.models.mixes import (
    MixLot,
    MixLotIngredient,
    MixLotMeasures,
    MixLotUse,
    MixVersion,
)
from app.store.queries.mix_lots import get_mix_lot

MOST_USED: Final = 100_000.0
_OWN: Final = ("made_on", "made_by_id", "litres", "notes")
_LINES: Final = "ingredients"


@dataclass(frozen=True, kw_only=True)
class MadeMixLot:
    """A mix lot as the program knows it from now on."""

    id: int
    code: str


def make_mix_lot(
    session: Session, *, actor: Actor, today: date, now: datetime, entry: MixLotEntry
) -> MadeMixLot:
    """Write a mix lot down, give it the next code, and return both.

    Raises:
        NotAccepted: the entry breaks a rule, or its recipe does not exist.
    """
    entry = accepted_mix_lot(entry, today=today)
    if session.get(MixVersion, entry.mix_version_id) is None:
        raise NotAccepted.at("mix", "Choose the mix from the list.")
    number = (session.scalar(select(func.max(MixLot.number))) or 0) + 1
    row = MixLot(
        number=number,
        code=mix_lot_code(number),
        mix_version_id=entry.mix_version_id,
        **{name: getattr(entry, name) for name in _OWN},
    )
    session.add(row)
    session.flush()
    session.add(
        MixLotMeasures(
            mix_lot_id=row.id, made_at=now, recorded_by_id=actor.person_id, **_measured(entry)
        )
    )
    _write_ingredients(session, row.id, entry.ingredients)
    _write(session, actor=actor, now=now, what="mix lot made up", code=row.code)
    return MadeMixLot(id=row.id, code=row.code)


def correct_mix_lot(
    session: Session,
    *,
    actor: Actor,
    today: date,
    now: datetime,
    code: str,
    version: int,
    entry: MixLotEntry,
) -> None:
    """Put right what was entered of a lot; its recipe stays.

    Raises:
        NotAccepted: the entry breaks a rule, or the lot is void.
        ChangedMeanwhile: somebody else saved it after `version` was read.
        NotFound: there is no such lot.
    """
    known = get_mix_lot(session, code=code)
    if known.voided:
        raise NotAccepted.at("", f"{known.code} is void: make up another lot instead.")
    entry = accepted_mix_lot(entry, today=today)
    changes = differences(_words(known.entry), after=_words(entry))
    row, measures = session.get_one(MixLot, known.id), _measures(session, known.id, now=now)
    refuse_stale(row, version=version, changes=changes)
    if not changes:
        return
    for name in _OWN:
        setattr(row, name, getattr(entry, name))
    # What was measured stands in rows beside; this counts up the version of the lot itself.
    flag_modified(row, "notes")
    for name, value in _measured(entry).items():
        setattr(measures, name, value)
    session.flush()
    if _LINES in changes:
        _write_ingredients(session, row.id, entry.ingredients)
    _write(session, actor=actor, now=now, what="mix lot corrected", code=row.code, change=changes)


def empty_mix_lot(
    session: Session, *, actor: Actor, today: date, now: datetime, code: str, empty: bool
) -> None:
    """Say that nothing is left of a lot, so that it is no longer offered, or take that back.

    Raises:
        NotAccepted: the lot is void, or stands so already.
        NotFound: there is no such lot.
    """
    known = get_mix_lot(session, code=code)
    if known.voided or bool(known.empty_on) == empty:
        state = "void" if known.voided else "empty" if empty else "in use"
        raise NotAccepted.at("", f"{known.code} is {state} already.")
    _measures(session, known.id, now=now).empty_on = today if empty else None
    session.flush()
    change: dict[str, JsonValue] = {"empty": [not empty, empty]}
    what = "mix lot emptied" if empty else "mix lot back in use"
    _write(session, actor=actor, now=now, what=what, code=known.code, change=change)


def void_mix_lot(
    session: Session, *, actor: Actor, today: date, now: datetime, code: str, reason: str
) -> None:
    """Take a lot out that was entered by mistake; it stays readable.

    Raises:
        NotAccepted: a batch or a potting names it, or it is void already.
        NotAllowed: it is somebody else's entry, or an own one of long ago.
        NotFound: there is no such lot.
    """
    known = get_mix_lot(session, code=code)
    made_on = known.made_at.date() if known.made_at else today
    if not may_correct_batch(
        actor, recorded_by_id=known.recorded_by_id, made_on=made_on, today=today
    ):
        raise NotAllowed("Ask the head propagator to take this lot out.")
    if known.voided:
        raise NotAccepted.at("", f"{known.code} is void already.")
    if known.batches:
        raise NotAccepted.at("", f"Batches name {known.code}: correct those first.")
    if known.pottings:
        raise NotAccepted.at("", f"Liner lots were potted from {known.code}: correct those first.")
    row = _measures(session, known.id, now=now)
    row.voided_at, row.void_reason = now, " ".join(reason.split())
    session.flush()
    change: dict[str, JsonValue] = {"void": [False, True], "reason": [None, row.void_reason]}
    _write(session, actor=actor, now=now, what="mix lot voided", code=known.code, change=change)


def say_litres_used(
    session: Session, *, actor: Actor, now: datetime, batch_code: str, litres: float | None
) -> None:
    """Say how many litres a batch used of its lot; None goes back to what its containers hold.

    Raises:
        NotAccepted: the batch names no lot, or so many litres cannot be.
        NotFound: there is no such batch.
    """
    batch = session.scalar(select(Batch).where(Batch.code == batch_code))
    if batch is None:
        raise NotFound("There is no such batch.")
    if batch.mix_lot_id is None:
        raise NotAccepted.at("", f"{batch_code} names no mix lot.")
    if litres is not None and not 0 <= litres <= MOST_USED:
        raise NotAccepted.at("litres", f"Give litres from 0 to {MOST_USED:,.0f}.")
    row = session.get(MixLotUse, (batch.id, batch.mix_lot_id))
    before = row.litres if row else None
    if row is not None and litres is None:
        session.delete(row)
    elif row is not None:
        row.litres = litres or 0.0
    elif litres is not None:
        session.add(MixLotUse(batch_id=batch.id, mix_lot_id=batch.mix_lot_id, litres=litres))
    session.flush()
    if before != litres:
        code = session.get_one(MixLot, batch.mix_lot_id).code
        change: dict[str, JsonValue] = {f"litres used by {batch_code}": [before, litres]}
        what = "litres of mix lot corrected"
        _write(session, actor=actor, now=now, what=what, code=code, change=change)


def _measured(entry: MixLotEntry) -> dict[str, Any]:
    left_out = {"mix_version_id", _LINES, *_OWN}
    return {
        name: getattr(entry, name) for name in entry.__dataclass_fields__ if name not in left_out
    }


def _measures(session: Session, lot_id: int, *, now: datetime) -> MixLotMeasures:
    row = session.get(MixLotMeasures, lot_id)
    if row is None:
        row = MixLotMeasures(mix_lot_id=lot_id, made_at=now)
        session.add(row)
        session.flush()
    return row


def _write_ingredients(
    session: Session, lot_id: int, ingredients: tuple[LotIngredient, ...]
) -> None:
    session.execute(delete(MixLotIngredient).where(MixLotIngredient.mix_lot_id == lot_id))
    for position, one in enumerate(ingredients, start=1):
        session.add(
            MixLotIngredient(
                mix_lot_id=lot_id,
                position=position,
                ingredient_id=keep_ingredient(session, name=one.ingredient),
                supplier_lot=one.supplier_lot,
                litres=one.litres,
                bags=one.bags,
                bag_l=one.bag_l,
            )
        )
    session.flush()


def _words(entry: MixLotEntry) -> dict[str, JsonValue]:
    plain = {
        name: plain_value(getattr(entry, name))
        for name in entry.__dataclass_fields__
        if name not in {_LINES, "mix_version_id", "made_by_id"}
    }
    lines: list[JsonValue] = [
        ", ".join(filter(None, (one.ingredient, one.supplier_lot, amount_words(one))))
        for one in entry.ingredients
    ]
    return plain | {_LINES: lines}


def _write(
    session: Session,
    *,
    actor: Actor,
    now: datetime,
    what: str,
    code: str,
    change: dict[str, JsonValue] | None = None,
) -> None:
    record_change(
        session, actor=actor, now=now, what=what, subject=f"mix lot {code}", change=change or {}
    )
