"""Genera: made when the first name of one is kept, and their family put right."""

from datetime import datetime

from sqlalchemy import select
from sqlalchemy.orm import Session

from app.domain.genus_cautions import genus_caution
from app.domain.people import Actor
from app.domain.plant_name_entries import family_problems
from app.domain.problems import NotAccepted, NotFound
from app.services.corrections import correct_row
from app.services.history import record_change
from app.store.models.genera import Genus


def keep_genus(session: Session, *, name: str) -> int:
    """Return the id of the genus, making it with the caution it starts with if it is new."""
    found = session.scalar(select(Genus.id).where(Genus.name == name))
    if found is not None:
        return found
    starting = genus_caution(name)
    row = Genus(name=name)
    if starting is not None:
        row.caution, row.caution_route = starting.caution, starting.route
        row.caution_basis, row.caution_applies_to = starting.basis, starting.applies_to
    session.add(row)
    session.flush()
    return row.id


def correct_genus(
    session: Session, *, actor: Actor | None, now: datetime, name: str, version: int, family: str
) -> None:
    """Correct the family of a genus.

    Raises:
        NotAccepted: it is no name of a family.
        ChangedMeanwhile: somebody else saved the genus after `version` was read.
        NotFound: there is no such genus.
    """
    row = session.scalars(select(Genus).where(Genus.name == name)).one_or_none()
    if row is None:
        raise NotFound(f"There is no genus {name} in the list.")
    tidy = " ".join(family.split())
    if problems := family_problems(tidy):
        raise NotAccepted(tuple(problems))
    changes = correct_row(row, version=version, after={"family": tidy})
    if changes:
        session.flush()
        record_change(
            session,
            actor=actor,
            now=now,
            what="genus corrected",
            subject=f"genus {name}",
            change=changes,
        )
