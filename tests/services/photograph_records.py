"""Photographs for tests, of a picture made from nothing."""

import io
from pathlib import Path
from typing import Any

from sqlalchemy.orm import Session

from app.domain.people import Actor
from app.domain.photographs import PhotographEntry
from app.formats.pictures import draw_photograph
from app.services.photographs import add_photograph, keep_photograph_files
from tests.conftest import NOW, TODAY
from tests.formats.sent_pictures import noisy, saved


def photograph(session: Session, actor: Actor, folder: Path, *, seed: int = 1, **more: Any) -> int:
    """Add a photograph and return its number; `seed` tells pictures apart."""
    drawn = draw_photograph(io.BytesIO(saved(noisy(400, 300, seed=seed))))
    return add_photograph(
        session,
        actor=actor,
        today=TODAY,
        now=NOW,
        entry=PhotographEntry(**({"taken_on": TODAY} | more)),
        files=keep_photograph_files(folder, drawn=drawn),
    )
