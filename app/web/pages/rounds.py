"""The round: late and due batches in the order they stand, one after the other, on one page.

Each batch is a form of its own that posts a check; without a script they stand one below the other.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from flask import Blueprint, render_template, request, url_for
from flask.typing import ResponseReturnValue

from app.domain.codes import parse_batch_code
from app.domain.cutting_types import CuttingType
from app.domain.due_lists import DueBatch
from app.domain.genus_cautions import FOLLOW_THE_LABEL, caution_words
from app.domain.permissions import Permission
from app.domain.rooted_signs import usual_sign
from app.domain.work_cautions import bench_cautions
from app.store.queries.batches import find_batch_id
from app.store.queries.bench_batches import get_bench_name
from app.store.queries.lost_causes import list_lost_causes
from app.store.queries.rounds import RoundNote, round_notes
from app.store.queries.today import find_due_batch, list_round
from app.store.queries.treatments import list_running, list_treatments_of_batch
from app.web.permissions import allow
from app.web.reentries import ReentryWarning, reentry_warnings
from app.web.requests import db, now, today

blueprint = Blueprint("rounds", __name__)

MOST: Final = 60
"""So many batches at most stand on one page: a phone has to load them all before it starts."""


@dataclass(frozen=True, kw_only=True)
class RoundBatch:
    """One batch of the round: what is due, what a form for it needs, what to mind."""

    due: DueBatch
    place: int
    action: str
    rooted_means: str
    tray: int | None
    genus: str
    caution: str
    warnings: tuple[ReentryWarning, ...]


@blueprint.route("/round")
@allow(Permission.CHECK)
def show() -> ResponseReturnValue:
    """Show the round, of all benches or of one; the batch of a code that was given comes first."""
    bench_id = request.args.get("bench", type=int)
    bench = get_bench_name(db(), bench_id=bench_id) if bench_id is not None else ""
    code = request.args.get("first", "").strip()
    first, refusal = _asked_for(code)
    wanted = [due for due in list_round(db(), on=today()) if bench_id in (None, due.bench_id)]
    others = [due for due in wanted if first is None or due.batch_id != first.batch_id]
    batches = [*([first] if first else []), *others]
    return render_template(
        "rounds/show.html",
        batches=_round_batches(batches[:MOST], bench_id=bench_id),
        left_out=max(0, len(batches) - MOST),
        bench=bench,
        bench_id=bench_id,
        code=code,
        refusal=refusal,
        causes=[cause.name for cause in list_lost_causes(db())],
        follow_the_label=FOLLOW_THE_LABEL,
        bench_cautions=bench_cautions(),
        today=today(),
    )


def _asked_for(code: str) -> tuple[DueBatch | None, str]:
    """Return the batch of a code that was typed or scanned, or why there is none to check."""
    if not code:
        return None, ""
    batch_id = find_batch_id(db(), code=code)
    if batch_id is None:
        return None, f"There is no batch {code}. Look at the label once more."
    due = find_due_batch(db(), on=today(), batch_id=batch_id)
    if due is None:
        found = parse_batch_code(code)
        return None, f"Nothing of {found} is left to check: it is cleared, or void."
    return due, ""


def _round_batches(batches: Sequence[DueBatch], *, bench_id: int | None) -> tuple[RoundBatch, ...]:
    notes = round_notes(db(), batch_ids=[due.batch_id for due in batches])
    keep_out = bool(list_running(db(), now=now()))
    return tuple(
        _round_batch(
            due,
            note=notes[due.batch_id],
            place=place,
            bench_id=bench_id,
            warnings=_warnings(due) if keep_out else (),
        )
        for place, due in enumerate(batches, start=1)
    )


def _round_batch(
    due: DueBatch,
    *,
    note: RoundNote,
    place: int,
    bench_id: int | None,
    warnings: tuple[ReentryWarning, ...],
) -> RoundBatch:
    cutting_type = CuttingType(due.cutting_type) if due.cutting_type else None
    return RoundBatch(
        due=due,
        place=place,
        action=url_for("checks.create", code=due.code, round="yes", bench=bench_id),
        rooted_means=usual_sign(cutting_type, plug=note.in_trays).value,
        tray=note.places,
        genus=note.genus,
        caution=caution_words(
            note.caution, applies_to=note.caution_applies_to, basis=note.caution_basis
        ),
        warnings=warnings,
    )


def _warnings(due: DueBatch) -> tuple[ReentryWarning, ...]:
    return reentry_warnings(list_treatments_of_batch(db(), batch_id=due.batch_id))
