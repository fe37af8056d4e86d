"""Writing a compared notebook sheet into the log: everything of it in one transaction.

What has to be inserted goes in by bulk; nothing here decides, `notebook_imports` has compared.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any, Final, cast

from sqlalchemy import Table, func, insert, select, update
from sqlalchemy.orm import Session

from app.domain.codes import batch_code
from app.domain.notebook_comparison import ComparedBatch, ComparedCheck, LineState
from app.domain.nursery import Hemisphere
from app.domain.people import Actor
from app.domain.problems import NotAccepted
from app.services.batch_facts import Books, Facts, facts_of, plans_of, read_books
from app.services.data_versions import let_be_stale
from app.services.history import Entry, record_changes
from app.services.liner_facts import refuse_fewer_rooted
from app.services.notebook_corrections import correct_batches, settle_batches
from app.services.notebook_imports import NotebookComparison
from app.services.notebook_names import make_names
from app.services.notebook_rows import (
    Recorder,
    basics_of,
    batch_values,
    bench_id,
    check_values,
    ended_by,
    loss_rows,
    source_rows,
    version_values,
)
from app.store.models.batches import Batch, BatchFacts, BatchSource
from app.store.models.benches import BenchStay
from app.store.models.checks import Check, CheckLoss, CheckVersion
from app.store.models.meta import Meta
from app.store.queries.notebook_names import NameIds, read_name_ids

_CHANGED: Final = (
    "The log was changed while this sheet was laid beside it. Look it over again, then write it."
)


class LogChanged(NotAccepted):
    """The log is no longer what the sheet was compared with; nothing was written."""


@dataclass(frozen=True, kw_only=True)
class WrittenNotebook:
    """How much was written, and what lines were left out."""

    batches_made: int
    batches_corrected: int
    checks_made: int
    checks_corrected: int
    names_made: int
    lines_left_out: int


@dataclass(frozen=True, kw_only=True)
class NumberedBatch:
    """A new batch with the row and the code it was given."""

    id: int
    code: str
    compared: ComparedBatch


def write_notebook(
    session: Session,
    *,
    actor: Actor | None,
    today: date,
    now: datetime,
    comparison: NotebookComparison,
    skip_wrong: bool = False,
) -> WrittenNotebook:
    """Write what the comparison found and return how much that was.

    Raises:
        LogChanged: the log is no longer what it was compared with.
        NotAccepted: lines are wrong and are not to be left out.
    """
    wrong = comparison.counts[LineState.WRONG]
    if wrong and not skip_wrong:
        raise NotAccepted.at("sheet", _lines_wrong(wrong))
    if session.scalar(select(Meta.history_length)) != comparison.history_length:
        raise LogChanged.at("sheet", _CHANGED)
    make_names(session, actor=actor, today=today, now=now, names=comparison.new_names)
    writing = _Writing(
        session=session,
        ids=read_name_ids(session),
        books=read_books(session),
        hemisphere=Hemisphere(session.scalars(select(Meta.hemisphere)).one()),
        recorder=Recorder(person_id=actor.person_id if actor else None, now=now),
    )
    entries = writing.write(comparison.to_write, source=comparison.reference)
    record_changes(session, actor=actor, now=now, entries=entries)
    return _written(comparison, wrong=wrong)


def _lines_wrong(number: int) -> str:
    lines = "1 line is" if number == 1 else f"{number:,} lines are"
    return f"Nothing was written: {lines} wrong. Mend them, or leave them out."


def _written(comparison: NotebookComparison, *, wrong: int) -> WrittenNotebook:
    batches = comparison.to_write
    made = sum(1 for batch in batches if batch.kept is None)
    checks = [check.state for batch in batches for check in batch.checks]
    return WrittenNotebook(
        batches_made=made,
        batches_corrected=len(batches) - made,
        checks_made=checks.count(LineState.NEW),
        checks_corrected=checks.count(LineState.CHANGED),
        names_made=sum(len(names) for _, names in comparison.new_names.listed),
        lines_left_out=wrong,
    )


@dataclass(frozen=True, kw_only=True)
class _Writing:
    """Everything that the rows of one sheet need while they are written."""

    session: Session
    ids: NameIds
    books: Books
    hemisphere: Hemisphere
    recorder: Recorder

    def write(self, batches: Sequence[ComparedBatch], *, source: str) -> list[Entry]:
        """Write the batches and return a history line for each."""
        new = [batch for batch in batches if batch.kept is None]
        stored = [batch for batch in batches if batch.kept is not None]
        made = self._insert_batches(new, source=source)
        entries = [
            Entry(what="batch stuck", subject=f"batch {one.code}", change={}) for one in made
        ]
        entries += correct_batches(
            self.session, batches=stored, ids=self.ids, recorder=self.recorder
        )
        checks = [(one.id, one.compared) for one in made]
        checks += [(batch.kept.id, batch) for batch in stored if batch.kept]
        self._insert_checks(checks)
        settle_batches(self.session, batches=stored, ids=self.ids)
        self._keep_facts(made, stored=stored)
        return entries

    def _insert_batches(
        self, batches: Sequence[ComparedBatch], *, source: str
    ) -> list[NumberedBatch]:
        numbers = self._newest_numbers({batch.batch.stuck_on.year for batch in batches})
        rows = [self._batch_row(batch, source=source, numbers=numbers) for batch in batches]
        keys = _insert(self.session, Batch, rows, by=("code",))
        made = [
            NumberedBatch(id=key, code=row["code"], compared=batch)
            for key, row, batch in zip(keys, rows, batches, strict=True)
        ]
        self._insert_places(made)
        return made

    def _newest_numbers(self, years: set[int]) -> dict[int, int]:
        query = (
            select(Batch.year, func.max(Batch.number).label("newest"))
            .where(Batch.year.in_(years))
            .group_by(Batch.year)
        )
        return {row.year: row.newest for row in self.session.execute(query)}

    def _batch_row(
        self, compared: ComparedBatch, *, source: str, numbers: dict[int, int]
    ) -> dict[str, Any]:
        year = compared.batch.stuck_on.year
        numbers[year] = numbers.get(year, 0) + 1
        return batch_values(compared.words, ids=self.ids) | {
            "year": year,
            "number": numbers[year],
            "code": batch_code(year=year, number=numbers[year]),
            "own_reference": compared.batch.reference,
            "reference_source": source,
            "ending_kind": compared.standing.ending.value,
            "ended_on": compared.standing.ended_on,
            "made_at": self.recorder.now,
            "recorded_by_id": self.recorder.person_id,
        }

    def _insert_places(self, made: Sequence[NumberedBatch]) -> None:
        sources: list[dict[str, Any]] = []
        stays: list[dict[str, Any]] = []
        for one in made:
            words = one.compared.words
            sources += source_rows(one.id, words=words, ids=self.ids)
            bench = bench_id(words, ids=self.ids)
            if bench is not None:
                stays.append({"batch_id": one.id, "bench_id": bench, "from_on": words.stuck_on})
        _insert_unseen(self.session, BatchSource, sources)
        _insert_unseen(self.session, BenchStay, stays)

    def _insert_checks(self, batches: Sequence[tuple[int, ComparedBatch]]) -> None:
        new = [
            (batch_id, batch, check)
            for batch_id, batch in batches
            for check in batch.checks
            if check.kept is None
        ]
        rows = [
            check_values(check.counts, ended=ended_by(batch, counts=check.counts))
            | {"batch_id": batch_id}
            for batch_id, batch, check in new
        ]
        keys = _insert(self.session, Check, rows, by=("batch_id", "checked_on", "running"))
        versions = [
            self._version(check, check_id=key, ended=row["ended"])
            for key, row, (_, _, check) in zip(keys, rows, new, strict=True)
        ]
        self._insert_versions([check for _, _, check in new], versions=versions)

    def _version(self, check: ComparedCheck, *, check_id: int, ended: int) -> dict[str, Any]:
        return version_values(
            check, check_id=check_id, ended=ended, ids=self.ids, recorder=self.recorder
        )

    def _insert_versions(
        self, checks: Sequence[ComparedCheck], *, versions: Sequence[Mapping[str, Any]]
    ) -> None:
        """Insert the versions; only those with losses need their keys told."""
        pairs = list(zip(checks, versions, strict=True))
        losing = [(check, version) for check, version in pairs if check.counts.lost]
        others = [version for check, version in pairs if not check.counts.lost]
        _insert_unseen(self.session, CheckVersion, others)
        keys = _insert(
            self.session, CheckVersion, [version for _, version in losing], by=("check_id",)
        )
        losses: list[dict[str, Any]] = []
        for key, (check, _) in zip(keys, losing, strict=True):
            losses += loss_rows(key, counts=check.counts, ids=self.ids)
        _insert_unseen(self.session, CheckLoss, losses)

    def _keep_facts(
        self, made: Sequence[NumberedBatch], *, stored: Sequence[ComparedBatch]
    ) -> None:
        new = [dict(vars(self._facts(one.compared, batch_id=one.id))) for one in made]
        _insert_unseen(self.session, BatchFacts, new)
        self._refuse_fewer_rooted(stored)
        changed = [
            dict(vars(self._facts(batch, batch_id=batch.kept.id))) for batch in stored if batch.kept
        ]
        for facts in changed:
            key = facts.pop("batch_id")
            self.session.execute(
                update(_table(BatchFacts)).where(BatchFacts.batch_id == key).values(**facts)
            )
        let_be_stale(self.session)

    def _refuse_fewer_rooted(self, stored: Sequence[ComparedBatch]) -> None:
        for batch in stored:
            if batch.kept is None:
                continue
            checks = {batch.kept.id: batch.all_counts}
            try:
                refuse_fewer_rooted(self.session, checks=checks, batch_ids=checks)
            except NotAccepted as refusal:
                sentence = f"Nothing was written. {batch.kept.code}: {refusal}"
                raise NotAccepted.at("sheet", sentence) from refusal

    def _facts(self, compared: ComparedBatch, *, batch_id: int) -> Facts:
        basics = basics_of(compared, batch_id=batch_id, ids=self.ids, hemisphere=self.hemisphere)
        plans = plans_of(self.books.plans, basics=basics)
        return facts_of(basics, checks=compared.all_counts, plans=plans, fit=self.books.fit)


def _table(model: Any) -> Table:
    return cast("Table", model.__table__)


def _insert(
    session: Session, model: Any, rows: Sequence[Mapping[str, Any]], *, by: tuple[str, ...]
) -> Sequence[int]:
    """Insert the rows and return their keys in the same order.

    `by` names the columns that tell one row from the others. They are looked up afterwards:
    having each insert return its key costs a statement per row.
    """
    if not rows:
        return ()
    table = _table(model)
    before = session.scalar(select(func.max(table.c.id))) or 0
    _insert_unseen(session, model, rows)
    columns = [table.c[name] for name in by]
    query = select(table.c.id, *columns).where(table.c.id > before)
    keys = {tuple(row[1:]): row[0] for row in session.execute(query)}
    return [keys[tuple(row[name] for name in by)] for row in rows]


def _insert_unseen(session: Session, model: Any, rows: Sequence[Mapping[str, Any]]) -> None:
    if rows:
        session.connection().execute(insert(_table(model)), rows)
