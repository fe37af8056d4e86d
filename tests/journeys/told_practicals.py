"""The practical sessions of the small log."""

from collections.abc import Iterable
from dataclasses import replace

from sqlalchemy.orm import Session

from app.domain.hormones import parse_hormone
from app.domain.people import Actor
from app.domain.practicals import PracticalEntry
from app.services.practical_batches import add_to_practical
from app.services.practical_readings import note_read_aloud
from app.services.practicals import cancel_practical, plan_practical
from app.store.queries.practical_cautions import get_caution_text
from app.store.queries.practicals import get_practical
from tests.conftest import NOW, TODAY
from tests.services.batch_records import days_ago


def tell_practicals(
    session: Session, head: Actor, plant_name_id: int, *, batches: Iterable[str]
) -> None:
    """Tell a session that was held, with its batches, one of today, and one that was cancelled."""
    kept = {"session": session, "actor": head, "today": TODAY, "now": NOW}
    entry = PracticalEntry(
        held_on=days_ago(60),
        topic="Semi-ripe cuttings of evergreen shrubs",
        taught_by_id=1,
        people_ids=(1, 2, 4),
        plant_name_id=plant_name_id,
        per_head=20,
        container_id=1,
        mix_id=1,
        bench_id=1,
        hormone=parse_hormone("IBA talc 1000 ppm"),
        steps=("Choose healthy shoots", "Cut below a node"),
        tools=("knife", "1 sprayer for all"),
        cautions=("The floor is wet",),
    )
    made = plan_practical(**kept, entry=entry)  # type: ignore[arg-type]
    known = get_practical(session, code=made.code)
    text = get_caution_text(session, practical=known).fingerprint
    heard = {"code": made.code, "fingerprint": text, "people_ids": (2,)}
    note_read_aloud(**kept, **heard)  # type: ignore[arg-type]
    for batch in batches:
        add = {"now": NOW, "code": made.code, "batch_code": batch}
        add_to_practical(session, actor=head, **add)  # type: ignore[arg-type]
    for held_on in (TODAY, days_ago(-9)):
        later = replace(entry, held_on=held_on, topic="Leaf-bud cuttings")
        plan_practical(**kept, entry=later)  # type: ignore[arg-type]
    gone = {"now": NOW, "code": "D-0003", "reason": "nobody can come"}
    cancel_practical(session, actor=head, **gone)  # type: ignore[arg-type]
