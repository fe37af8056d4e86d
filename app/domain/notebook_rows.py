"""A stored batch as lines of a notebook sheet, so that reading them in again changes nothing."""

from collections.abc import Iterator
from datetime import date
from typing import TypeAlias

from app.domain.notebook import BatchWords, shown
from app.domain.notebook_columns import COLUMNS
from app.domain.notebook_comparison import KeptBatch, KeptCheck
from app.domain.outcomes import CheckKind, Loss, in_order

NotebookCell: TypeAlias = str | int | float | date | None
_Line: TypeAlias = dict[str, NotebookCell]


def notebook_rows(kept: KeptBatch) -> Iterator[tuple[NotebookCell, ...]]:
    """Yield the lines of one batch in the order of the columns: itself, then its checks.

    Withdrawn checks are left out. Each check has a line, and one more for each further cause.
    """
    for line in (_batch_line(kept), *_check_lines(kept)):
        yield tuple(line.get(column) for column in COLUMNS)


def _batch_line(kept: KeptBatch) -> _Line:
    words = kept.words
    return {
        "batch": kept.code,
        "plant": shown(words.plant),
        "stock_plant": shown(words.stock_plant),
        "taken_on": words.taken_on,
        "stuck_on": words.stuck_on,
        "stuck": words.stuck,
        "cutting_type": shown(words.cutting_type),
        "cut": shown(words.cut),
        **_hormone(words),
        "mix": words.mix,
        "container": words.container,
        "per_plug": words.per_plug,
        "bench": words.bench,
        "cover": words.cover,
        "bottom_heat_c": words.bottom_heat_c,
        "person": words.person,
        "note": words.note,
    }


def _hormone(words: BatchWords) -> _Line:
    hormone = words.hormone
    if hormone is None:
        return {}
    return {
        "hormone": hormone.substance,
        "hormone_form": hormone.form,
        "hormone_ppm": hormone.ppm,
    }


def _check_lines(kept: KeptBatch) -> Iterator[_Line]:
    place = {id(check.counts): check for check in kept.checks}
    left = kept.words.stuck or 0
    day_before: date | None = None
    for counts in in_order(check.counts for check in kept.checks):
        check = place[id(counts)]
        if counts.kind is CheckKind.COUNTED:
            left -= counts.rooted + counts.lost_in_all
        # Another check of the same day begins with a line without losses: one with a cause that
        # is not there yet would be read as part of the check before.
        alone = counts.checked_on == day_before
        day_before = counts.checked_on
        yield from _lines_of(kept.code, check, left=left, alone=alone)


def _lines_of(code: str, check: KeptCheck, *, left: int, alone: bool) -> Iterator[_Line]:
    counts = check.counts
    losses = [loss for loss in counts.lost if loss.number]
    first: _Line = {
        "batch": code,
        "checked_on": counts.checked_on,
        "checked_by": check.checked_by,
        "kind": "" if counts.kind is CheckKind.COUNTED else counts.kind.value,
        "rooted": None if counts.kind is CheckKind.LOOKED_ONLY else counts.rooted,
        "unrooted_counted": _unrooted_counted(check, left=left),
        "ending": counts.ending.value,
        "note": check.note,
    }
    if losses and not alone:
        yield {**first, **_loss(losses[0])}
        losses = losses[1:]
    else:
        yield first
    for loss in losses:
        yield {"batch": code, "checked_on": counts.checked_on, **_loss(loss)}


def _loss(loss: Loss) -> _Line:
    return {"lost": loss.number, "lost_cause": loss.cause}


def _unrooted_counted(check: KeptCheck, *, left: int) -> int | None:
    """Return the unrooted as counted, for a sample those it found.

    A count that later corrections made untrue is left out: read in again it would be missed.
    """
    if check.counts.kind is CheckKind.SAMPLE:
        return (check.counts.looked or 0) - check.counts.rooted
    return check.unrooted_counted if check.unrooted_counted == left else None
