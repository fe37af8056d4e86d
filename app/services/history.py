"""The history line that every change writes, sealed by a hash over the line before.

A creation refers to its record and copies nothing; an edit holds what each field was and what it
became. People are named by their key only, so that a person can be erased.
"""

import hashlib
import json
from collections.abc import Iterable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Final, TypeAlias

from sqlalchemy import insert, select, update
from sqlalchemy.orm import Session

from app.domain.people import Actor
from app.store.models.history import HistoryLine
from app.store.models.meta import Meta

JsonValue: TypeAlias = "str | int | float | bool | list[JsonValue] | dict[str, JsonValue] | None"
FIRST_HASH: Final = "0" * 64
_REASON: Final = "strikewell_reason"


@dataclass(frozen=True, kw_only=True)
class Entry:
    """One change to be written into the history."""

    what: str
    subject: str
    change: Mapping[str, JsonValue]


def canonical_text(change: Mapping[str, JsonValue]) -> str:
    """Return the change as JSON with sorted keys and no spaces, the same for the same content."""
    return json.dumps(change, sort_keys=True, separators=(",", ":"), ensure_ascii=False)


def seal(
    *,
    sequence: int,
    at: datetime,
    actor_key: str,
    what: str,
    subject: str,
    change: str,
    previous_hash: str,
) -> str:
    """Return the SHA-256 in hexadecimal over one line and the hash of the line before."""
    instant = at.astimezone(UTC).isoformat(timespec="microseconds")
    parts = [str(sequence), instant, actor_key, what, subject, change, previous_hash]
    return hashlib.sha256(json.dumps(parts, ensure_ascii=False).encode()).hexdigest()


@contextmanager
def because_of(session: Session, *, reason: str) -> Iterator[None]:
    """Let every change written in the block say this reason beside what it changed."""
    session.info[_REASON] = reason
    try:
        yield
    finally:
        del session.info[_REASON]


def record_change(
    session: Session,
    *,
    actor: Actor | None,
    now: datetime,
    what: str,
    subject: str,
    change: Mapping[str, JsonValue],
) -> None:
    """Write one history line; `change` maps a field to [before, after], empty for a creation."""
    reason = session.info.get(_REASON)
    told = {**change, "reason": [None, reason]} if reason and change else change
    entry = Entry(what=what, subject=subject, change=told)
    record_changes(session, actor=actor, now=now, entries=[entry])


def record_changes(
    session: Session, *, actor: Actor | None, now: datetime, entries: Iterable[Entry]
) -> None:
    """Write many history lines in order, in one insert."""
    session.flush()
    meta = session.execute(select(Meta.history_length, Meta.history_hash)).one()
    length, previous = meta.history_length, meta.history_hash or FIRST_HASH
    actor_key = actor.person_key if actor else ""
    rows = []
    for entry in entries:
        length += 1
        line = {
            "sequence": length,
            "at": now,
            "actor_key": actor_key,
            "what": entry.what,
            "subject": entry.subject,
            "change": canonical_text(entry.change),
            "previous_hash": previous,
        }
        previous = seal(**line)
        rows.append(line | {"hash": previous})
    if rows:
        session.execute(insert(HistoryLine), rows)
        # Straight to the table: these two marks are not an edit of the nursery's record.
        session.execute(
            update(Meta.__table__).values(history_length=length, history_hash=previous)  # type: ignore[arg-type]
        )


def differences(
    before: Mapping[str, JsonValue], *, after: Mapping[str, JsonValue]
) -> dict[str, JsonValue]:
    """Return {field: [before, after]} for the fields that differ, for an edit's history line."""
    return {
        field: [before.get(field), value]
        for field, value in after.items()
        if before.get(field) != value
    }
