"""What the page of a practical session shows: what to have ready, and the cautions with readers."""

from dataclasses import dataclass
from typing import Any

from flask import url_for

from app.domain.permissions import Permission, allowed
from app.domain.practical_cautions import CautionText
from app.domain.practical_materials import PracticalMaterials, materials_for
from app.domain.practicals import MOST_HEADS
from app.store.queries.batch_choices import Choice
from app.store.queries.practical_cautions import KnownReading, get_caution_text, list_readings
from app.store.queries.practical_materials import find_batch_of_each, room_on_bench
from app.store.queries.practicals import KnownPractical
from app.web.preparing_reading import MOST_LINES
from app.web.requests import actor, db


@dataclass(frozen=True, kw_only=True)
class ShownCautions:
    """The cautions as they stand now, and who has read them.

    `own` is what the person signed in has read of the text that stands now, None where nothing.
    `readings` and `missing` (those who have not read it yet) are empty for who sees only theirs.
    """

    text: CautionText
    own: KnownReading | None
    readings: tuple[KnownReading, ...]
    missing: tuple[Choice, ...]


def cautions_shown(known: KnownPractical) -> ShownCautions:
    """Return what to show of the cautions to the person signed in."""
    text = get_caution_text(db(), practical=known)
    readings = list_readings(db(), practical=known, now_reads=text)
    current = [each for each in readings if each.is_current]
    sees_all = allowed(actor().role, Permission.SEE_EVERYBODY)
    have_read = {each.person_id for each in current}
    return ShownCautions(
        text=text,
        own=next((each for each in current if each.person_id == actor().person_id), None),
        readings=readings if sees_all else (),
        missing=tuple(each for each in known.people if each.id not in have_read)
        if sees_all
        else (),
    )


def heads_asked(known: KnownPractical, *, typed: str) -> int:
    """Return for how many to prepare: as typed, else as the session says; nonsense is left out."""
    wanted = int(typed) if typed.isascii() and typed.isdecimal() and len(typed) < 4 else 0
    return wanted if 1 <= wanted <= MOST_HEADS else known.entry.prepared_for


def materials_shown(known: KnownPractical, *, heads: int) -> PracticalMaterials:
    """Return what so many people need."""
    return materials_for(
        heads,
        each=find_batch_of_each(db(), practical=known),
        tools=known.entry.tools,
        room=room_on_bench(db(), practical=known) if known.bench else {},
    )


def preparing_address(known: KnownPractical, *, heads: int) -> str:
    """Return the address of a preparing sheet with a line for each head, as many as it takes."""
    entry = known.entry
    lines: dict[str, Any] = {"title": known.code}
    for place in range(min(heads, MOST_LINES)):
        lines |= {
            f"lines-{place}-plant": known.plant,
            f"lines-{place}-cuttings": str(entry.per_head or ""),
            f"lines-{place}-per_place": str(entry.per_place or 1),
            f"lines-{place}-container": known.container or "-",
            f"lines-{place}-mix": known.mix or "-",
            f"lines-{place}-hormone": entry.hormone.label if entry.hormone else "",
            f"lines-{place}-bench": known.bench or "-",
        }
    return url_for("preparing_sheets.show", **lines)
