"""Mixes: new recipes, changes that make the next version, retiring."""

from datetime import datetime

from sqlalchemy import func, select
from sqlalchemy.orm import Session
from sqlalchemy.orm.attributes import flag_modified

from app.domain.mix_lines import parts_lines
from app.domain.mixes import MixEntry, MixPart, accepted_mix
from app.domain.people import Actor
from app.domain.problems import NotAccepted, NotFound
from app.services.corrections import correct_row, refuse_stale
from app.services.history import JsonValue, differences, record_change
from app.services.mix_parts import is_used, newest_version, recipe_of, set_parts
from app.store.models.mixes import Mix, MixVersion

USUAL_START = MixEntry(
    name="Perlite and compost",
    parts=(
        MixPart(ingredient="perlite", parts=1),
        MixPart(ingredient="compost", parts=1),
    ),
    notes="A usual start (common practice, no source).",
)


def add_mix(session: Session, *, actor: Actor | None, now: datetime, entry: MixEntry) -> int:
    """Add a mix with its first version and return the mix's id.

    Raises:
        NotAccepted: the entry breaks a rule or the name is taken.
    """
    entry = accepted_mix(entry)
    _refuse_taken(session, entry.name, but=None)
    row = _add(session, entry=entry, now=now)
    _write(session, actor=actor, now=now, what="mix added", name=entry.name)
    return row.id


def change_mix(
    session: Session,
    *,
    actor: Actor | None,
    now: datetime,
    mix_id: int,
    version: int,
    entry: MixEntry,
) -> int:
    """Change a mix and return the number of the recipe that holds now.

    A recipe that a batch or a mix lot has used stays as it was and the change becomes the next
    version; one that nobody used is put right in place.

    Raises:
        NotAccepted: the entry breaks a rule or the name is taken.
        ChangedMeanwhile: somebody else saved it after `version` was read.
        NotFound: there is no such mix.
    """
    row = _get(session, mix_id)
    entry = accepted_mix(entry)
    _refuse_taken(session, entry.name, but=mix_id)
    newest = newest_version(session, mix_id=mix_id)
    before = _values(recipe_of(session, name=row.name, version=newest))
    changes = differences(before, after=_values(entry))
    refuse_stale(row, version=version, changes=changes)
    if not changes:
        return newest.number
    row.name = entry.name
    # The recipe stands in rows of its own; this counts up the version of the mix itself.
    flag_modified(row, "name")
    number = newest.number
    if changes.keys() - {"name"}:
        number = _store_recipe(session, newest, entry=entry, now=now)
    what = "mix changed" if number == newest.number else f"mix changed, now version {number}"
    _write(session, actor=actor, now=now, what=what, name=entry.name, change=changes)
    return number


def retire_mix(
    session: Session,
    *,
    actor: Actor | None,
    now: datetime,
    mix_id: int,
    version: int,
    retired: bool,
) -> None:
    """Take a mix out of use, so that it is no longer offered, or put it back into use.

    Raises:
        ChangedMeanwhile: somebody else saved it after `version` was read.
        NotFound: there is no such mix.
    """
    row = _get(session, mix_id)
    retired_at = (row.retired_at or now) if retired else None
    changes = correct_row(row, version=version, after={"retired_at": retired_at})
    if changes:
        what = "mix taken out of use" if retired else "mix put back into use"
        _write(session, actor=actor, now=now, what=what, name=row.name, change=changes)


def keep_mix(session: Session, *, actor: Actor | None, now: datetime, name: str) -> int:
    """Return the id of the newest version of the mix of this name.

    A mix that is not there yet is added by its name alone; its recipe is then not recorded.

    Raises:
        NotAccepted: there is no name, or it is too long.
    """
    tidy = " ".join(name.split())
    mix_id = session.scalar(select(Mix.id).where(func.lower(Mix.name) == tidy.lower()))
    if mix_id is None:
        named = MixEntry(name=tidy, parts=(MixPart(ingredient="not recorded", parts=1),))
        mix_id = _add(session, entry=_without_parts(accepted_mix(named)), now=now).id
        _write(session, actor=actor, now=now, what="mix added", name=tidy)
    return newest_version(session, mix_id=mix_id).id


def load_starting_mixes(session: Session, *, now: datetime) -> None:
    """Put in the usual start where there is no mix yet."""
    if session.scalar(select(Mix.id).limit(1)) is None:
        add_mix(session, actor=None, now=now, entry=USUAL_START)


def _get(session: Session, mix_id: int) -> Mix:
    row = session.get(Mix, mix_id)
    if row is None:
        raise NotFound("This mix is not in the list.")
    return row


def _refuse_taken(session: Session, name: str, *, but: int | None) -> None:
    found = session.scalar(select(Mix.id).where(func.lower(Mix.name) == name.lower()))
    if found is not None and found != but:
        raise NotAccepted.at("name", f"There is a mix called {name} already.")


def _add(session: Session, *, entry: MixEntry, now: datetime) -> Mix:
    row = Mix(name=entry.name)
    session.add(row)
    session.flush()
    _add_version(session, mix_id=row.id, number=1, entry=entry, now=now)
    return row


def _add_version(
    session: Session, *, mix_id: int, number: int, entry: MixEntry, now: datetime
) -> None:
    version = MixVersion(
        mix_id=mix_id,
        number=number,
        made_at=now,
        shrinkage_share=entry.shrinkage_share,
        notes=entry.notes,
    )
    session.add(version)
    session.flush()
    set_parts(session, version_id=version.id, parts=entry.parts)


def _store_recipe(session: Session, newest: MixVersion, *, entry: MixEntry, now: datetime) -> int:
    if is_used(session, version_id=newest.id):
        number = newest.number + 1
        _add_version(session, mix_id=newest.mix_id, number=number, entry=entry, now=now)
        return number
    newest.shrinkage_share = entry.shrinkage_share
    newest.notes = entry.notes
    set_parts(session, version_id=newest.id, parts=entry.parts)
    return newest.number


def _values(entry: MixEntry) -> dict[str, JsonValue]:
    return {
        "name": entry.name,
        "parts": parts_lines(entry.parts),
        "shrinkage_share": entry.shrinkage_share,
        "notes": entry.notes,
    }


def _without_parts(entry: MixEntry) -> MixEntry:
    return MixEntry(name=entry.name, parts=())


def _write(
    session: Session,
    *,
    actor: Actor | None,
    now: datetime,
    what: str,
    name: str,
    change: dict[str, JsonValue] | None = None,
) -> None:
    record_change(
        session, actor=actor, now=now, what=what, subject=f"mix {name}", change=change or {}
    )
