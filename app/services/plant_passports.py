"""Issuing plant passports, voiding a wrong one, and what they have in common."""

from dataclasses import dataclass
from datetime import date, datetime
from typing import Final

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from app.domain.codes import passport_code
from app.domain.people import Actor
from app.domain.plant_passports import (
    PassportEntry,
    PassportSettings,
    accepted_passport,
    accepted_settings,
    passport_content,
)
from app.domain.problems import NotAccepted, NotFound
from app.domain.reasons import accepted_reason
from app.services.corrections import correct_row
from app.services.held_things import refuse_held_batch
from app.services.history import JsonValue, record_change
from app.store.models.batches import Batch
from app.store.models.plant_passports import PassportSettingsRow, PlantPassport
from app.store.queries.plant_passports import get_passport_settings

WHY_VOID: Final = "Say why it is void: it stays in the log with this reason."
_ONE_ROW: Final = 1


@dataclass(frozen=True, kw_only=True)
class IssuedPassport:
    """A passport as the program knows it from now on."""

    id: int
    code: str


def set_passport_settings(
    session: Session, *, actor: Actor, now: datetime, version: int, settings: PassportSettings
) -> None:
    """Set what passports have in common; those that were issued stay as they are.

    Raises:
        NotAccepted: the operator number or the member state cannot be one.
        ChangedMeanwhile: somebody else saved it after `version` was read.
    """
    settings = accepted_settings(settings)
    row = session.get(PassportSettingsRow, _ONE_ROW)
    if row is None:
        off = PassportSettings()
        row = PassportSettingsRow(
            id=_ONE_ROW,
            territory=off.territory.value,
            operator_number=off.operator_number,
            member_state=off.member_state,
            own_title=off.own_title,
        )
        session.add(row)
        session.flush()
    after = {
        "territory": settings.territory.value,
        "operator_number": settings.operator_number,
        "member_state": settings.member_state,
        "own_title": settings.own_title,
    }
    changes = correct_row(row, version=version, after=after)
    if changes:
        what, subject = "plant passport settings changed", "plant passport settings"
        record_change(session, actor=actor, now=now, what=what, subject=subject, change=changes)


def issue_passport(
    session: Session,
    *,
    actor: Actor,
    today: date,
    now: datetime,
    batch_id: int,
    entry: PassportEntry,
    replaces_id: int | None = None,
) -> IssuedPassport:
    """Issue a passport for plants of a batch, word for word as it stands from then on.

    `replaces_id` is the voided one that it takes the place of.

    Raises:
        NotAccepted: passports are off, something is missing, the batch is void or on hold, or what
            it is to replace is not void.
        NotFound: there is no such batch.
    """
    settings, _ = get_passport_settings(session)
    entry = accepted_passport(entry, settings=settings)
    _refuse_unfit(session, batch_id=batch_id, replaces_id=replaces_id)
    number = (session.scalar(select(func.max(PlantPassport.number))) or 0) + 1
    row = PlantPassport(
        number=number,
        batch_id=batch_id,
        replaces_id=replaces_id,
        **_words(entry, settings=settings),
        issued_on=today,
        issued_at=now,
        issued_by_id=actor.person_id,
    )
    session.add(row)
    session.flush()
    code = passport_code(number)
    _write(session, actor=actor, now=now, what="plant passport issued", code=code, change={})
    return IssuedPassport(id=row.id, code=code)


def void_passport(
    session: Session, *, actor: Actor, now: datetime, passport_id: int, reason: str
) -> None:
    """Void a passport that was issued wrongly; it stays in the log as it was issued.

    Raises:
        NotAccepted: no reason is given, or it is void already.
        NotFound: there is no such passport.
    """
    row = session.get(PlantPassport, passport_id)
    if row is None:
        raise NotFound("There is no such plant passport.")
    code = passport_code(row.number)
    tidy = accepted_reason(reason, missing=WHY_VOID)
    if row.voided_at is not None:
        raise NotAccepted.at("reason", f"{code} is void already.")
    row.voided_at, row.voided_by_id, row.void_reason = now, actor.person_id, tidy
    session.flush()
    change: dict[str, JsonValue] = {"void": [False, True], "reason": [None, tidy]}
    _write(session, actor=actor, now=now, what="plant passport voided", code=code, change=change)


def _words(entry: PassportEntry, *, settings: PassportSettings) -> dict[str, str | int]:
    """Return the columns that say what the passport says."""
    content = passport_content(entry, settings=settings)
    return {
        "territory": content.territory.value,
        "title": content.title,
        "a": content.a,
        "b": content.b,
        "c": content.c,
        "d": content.d,
        "e": content.e,
        "blank_reason": "" if content.c else entry.blank_reason,
        "plants": entry.plants,
        "labels": entry.labels,
        "note": entry.note,
    }


def _refuse_unfit(session: Session, *, batch_id: int, replaces_id: int | None) -> None:
    batch = session.get(Batch, batch_id)
    if batch is None:
        raise NotFound("There is no such batch.")
    if batch.voided_at is not None:
        raise NotAccepted.at("", f"{batch.code} is void: no passport can be issued for it.")
    refuse_held_batch(session, batch_id=batch_id, doing="issue a passport for it", field="")
    if replaces_id is not None:
        replaced = session.get(PlantPassport, replaces_id)
        if replaced is None or replaced.voided_at is None:
            raise NotAccepted.at("", "Only a void passport is issued again: void that one first.")


def _write(
    session: Session,
    *,
    actor: Actor,
    now: datetime,
    what: str,
    code: str,
    change: dict[str, JsonValue],
) -> None:
    subject = f"plant passport {code}"
    record_change(session, actor=actor, now=now, what=what, subject=subject, change=change)
