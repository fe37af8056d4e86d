"""Correcting stored batches and checks by a notebook sheet, with the reason "sheet".

A check is never edited in place: a line that differs adds a version of it. The order of the steps
keeps every sum within what was stuck at each moment, as the database insists.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any, Final, cast

from sqlalchemy import Table, delete, select, update
from sqlalchemy.orm import Session

from app.domain.batches import SourceKind
from app.domain.notebook import BatchWords, shown
from app.domain.notebook_comparison import ComparedBatch, ComparedCheck, KeptBatch, LineState
from app.domain.people import name_key
from app.services.batch_facts import lower_ending
from app.services.bench_stays import correct_first_stay
from app.services.check_versions import CheckContent, VersionMark, change_check, stored_content
from app.services.history import Entry, JsonValue, differences
from app.services.lines import refuse_looped_source
from app.services.notebook_rows import (
    Recorder,
    batch_values,
    bench_id,
    ended_by,
    person_id,
    source_rows,
)
from app.store.models.batches import Batch, BatchSource
from app.store.models.checks import Check
from app.store.queries.checks import StoredCheck, checks_by_id
from app.store.queries.notebook_names import NameIds

REASON: Final = "sheet"
_BATCHES: Final = cast("Table", Batch.__table__)
_CHECKS: Final = cast("Table", Check.__table__)
_FIELDS: Final = {
    "person": "stuck_by",
    "per_plug": "per_place",
    "note": "notes",
    "stock_plant": "sources",
}


@dataclass(frozen=True, kw_only=True)
class Corrected:
    """A stored batch with what the sheet makes of it."""

    kept: KeptBatch
    compared: ComparedBatch

    @property
    def less_stuck(self) -> bool:
        """Whether fewer were stuck than the log says."""
        return (self.compared.words.stuck or 0) < (self.kept.words.stuck or 0)

    @property
    def ended(self) -> int:
        """How many went with the batch's ending."""
        return self.compared.standing.ended


def correct_batches(
    session: Session, *, batches: Sequence[ComparedBatch], ids: NameIds, recorder: Recorder
) -> list[Entry]:
    """Correct what differs in these stored batches and return a history line for each.

    New checks of theirs are inserted by the caller, after this.
    """
    corrected = [Corrected(kept=batch.kept, compared=batch) for batch in batches if batch.kept]
    changed = _changed_checks(session, corrected)
    for batch in corrected:
        if not batch.less_stuck:
            _set_batch(session, batch, ids=ids)
        lower_ending(session, batch_id=batch.kept.id, ended=batch.ended)
    for change in sorted(changed.values(), key=lambda change: change.more):
        _change_check(session, change, ids=ids, recorder=recorder)
    return [_entry(batch, changed=changed, ids=ids) for batch in corrected]


def settle_batches(session: Session, *, batches: Sequence[ComparedBatch], ids: NameIds) -> None:
    """Bring the endings of corrected batches into step once all of their checks are there."""
    for compared in batches:
        if compared.kept is None:
            continue
        batch = Corrected(kept=compared.kept, compared=compared)
        if batch.less_stuck:
            _set_batch(session, batch, ids=ids)
        _set_ending(session, batch)


@dataclass(frozen=True, kw_only=True)
class _ChangedCheck:
    """A stored check with what the sheet says it found."""

    stored: StoredCheck
    check: ComparedCheck
    ended: int

    @property
    def more(self) -> int:
        """How many more than before it accounts for; below zero for fewer."""
        before = self.stored.counts.rooted + self.stored.counts.lost_in_all
        return self.check.counts.rooted + self.check.counts.lost_in_all + self.ended - before


def _changed_checks(session: Session, batches: Sequence[Corrected]) -> Mapping[int, _ChangedCheck]:
    pairs = [
        (batch.compared, check)
        for batch in batches
        for check in batch.compared.checks
        if check.state is LineState.CHANGED and check.kept
    ]
    stored = checks_by_id(session, check_ids=[check.kept.id for _, check in pairs if check.kept])
    return {
        check.kept.id: _ChangedCheck(
            stored=stored[check.kept.id],
            check=check,
            ended=ended_by(batch, counts=check.counts),
        )
        for batch, check in pairs
        if check.kept
    }


def _change_check(
    session: Session, change: _ChangedCheck, *, ids: NameIds, recorder: Recorder
) -> None:
    mark = VersionMark(
        number=change.stored.version + 1,
        recorded_at=recorder.now,
        recorded_by_id=recorder.person_id,
        reason=REASON,
    )
    content = _content(change, ids=ids)
    change_check(session, check_id=change.stored.id, content=content, mark=mark)


def _content(change: _ChangedCheck, *, ids: NameIds) -> CheckContent:
    """Return the next version of a check: what the sheet says over what is stored."""
    before = stored_content(change.stored)
    check = change.check.check
    same_counts = replace(change.check.counts, callused=None) == replace(
        before.counts, callused=None
    )
    counted = check.unrooted_counted
    if counted is None and same_counts:
        counted = before.unrooted_counted
    checked_by = person_id(check.checked_by, ids=ids)
    return replace(
        before,
        counts=change.check.counts,
        ended=change.ended,
        typed_as=before.typed_as if same_counts else "new",
        unrooted_counted=counted,
        checked_by_id=checked_by or before.checked_by_id,
        note=check.note or before.note,
    )


def _set_batch(session: Session, batch: Corrected, *, ids: NameIds) -> None:
    """Store the columns that the sheet changes; the version counts up if there are any."""
    changed = set(batch.compared.changed)
    if not changed:
        return
    words = batch.compared.words
    values = batch_values(words, ids=ids)
    if "mix" not in changed:
        # Another version of the same mix is no change of the sheet's.
        del values["mix_version_id"]
    if "stuck" in changed:
        values |= {"trays": None, "per_tray": None, "gaps": None}
    values["version"] = _BATCHES.c.version + 1
    session.execute(update(_BATCHES).where(_BATCHES.c.id == batch.kept.id).values(**values))
    if changed & {"bench", "stuck_on"}:
        correct_first_stay(
            session,
            batch_id=batch.kept.id,
            bench_id=bench_id(words, ids=ids),
            from_on=words.stuck_on or batch.compared.batch.stuck_on,
        )
    if "stock_plant" in changed:
        _set_sources(session, batch, ids=ids)


def _set_sources(session: Session, batch: Corrected, *, ids: NameIds) -> None:
    """Put the sheet's stock plants in the place of the stored ones; other sources stay."""
    query = (
        select(BatchSource.__table__)
        .where(BatchSource.batch_id == batch.kept.id)
        .order_by(BatchSource.position)
    )
    stored = [dict(row) for row in session.execute(query).mappings()]
    numbers = {row["stock_plant_id"]: row["number"] for row in stored}
    others = [row for row in stored if row["kind"] != SourceKind.STOCK_PLANT]
    named = source_rows(batch.kept.id, words=batch.compared.words, ids=ids)
    session.execute(delete(BatchSource).where(BatchSource.batch_id == batch.kept.id))
    for row in named:
        refuse_looped_source(session, batch_id=batch.kept.id, stock_plant_id=row["stock_plant_id"])
    for position, row in enumerate([*named, *others], start=1):
        plant = row.get("stock_plant_id")
        number = row.get("number") if plant is None else numbers.get(plant)
        row.pop("id", None)
        session.add(BatchSource(**(row | {"position": position, "number": number})))
    session.flush()


def _set_ending(session: Session, batch: Corrected) -> None:
    standing = batch.compared.standing
    session.execute(
        update(_CHECKS)
        .where(
            _CHECKS.c.batch_id == batch.kept.id,
            _CHECKS.c.withdrawn == 0,
            _CHECKS.c.ending != "",
            _CHECKS.c.ended != batch.ended,
        )
        .values(ended=batch.ended)
    )
    values: dict[str, Any] = {"ending_kind": standing.ending.value, "ended_on": standing.ended_on}
    if not standing.ending:
        values["ending_cause"] = ""
    session.execute(update(_BATCHES).where(_BATCHES.c.id == batch.kept.id).values(**values))


def _entry(batch: Corrected, *, changed: Mapping[int, _ChangedCheck], ids: NameIds) -> Entry:
    """Return the history line of one batch: what each field was and became, the checks' too."""
    change = _words_changed(batch, ids=ids)
    for check in batch.compared.checks:
        counts = check.counts
        place = f"check of {counts.checked_on.isoformat()} no. {counts.running}"
        if check.state is LineState.NEW:
            change[place] = ["", "recorded"]
        elif check.kept and check.kept.id in changed:
            one = changed[check.kept.id]
            before = _told(stored_content(one.stored), person=check.kept.checked_by, ids=ids)
            said = check.check.checked_by or check.kept.checked_by
            after = _told(_content(one, ids=ids), person=said, ids=ids)
            change |= {
                f"{place}, {field}": values
                for field, values in differences(before, after=after).items()
            }
    change["reason"] = ["", REASON]
    return Entry(what="batch corrected", subject=f"batch {batch.kept.code}", change=change)


def _words_changed(batch: Corrected, *, ids: NameIds) -> dict[str, JsonValue]:
    kept, words = batch.kept.words, batch.compared.words
    return {
        _FIELDS.get(column, column): [
            _told_word(column, kept, ids=ids),
            _told_word(column, words, ids=ids),
        ]
        for column in batch.compared.changed
    }


def _told_word(column: str, words: BatchWords, *, ids: NameIds) -> JsonValue:
    """Return what is said in one column as history holds it; people by their key."""
    if column == "person":
        return _key(words.person, ids=ids)
    value = getattr(words, column)
    return value if isinstance(value, int | float) else shown(value)


def _told(content: CheckContent, *, person: str, ids: NameIds) -> dict[str, JsonValue]:
    counts = content.counts
    return {
        "kind": counts.kind.value,
        "rooted": counts.rooted,
        "lost": [f"{loss.cause}: {loss.number}" for loss in counts.lost],
        "looked_at": counts.looked,
        "ending": counts.ending.value,
        "unrooted_counted": content.unrooted_counted,
        "note": content.note,
        "checked_by": _key(person, ids=ids),
    }


def _key(name: str, *, ids: NameIds) -> str:
    found = ids.people.get(name_key(name))
    return found.key if found else ""
