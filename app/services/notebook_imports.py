"""Reading a notebook sheet in: laid beside the log first, written only after that.

The sheet is compared in short reads, a few hundred batches at a time, so that nobody waits for
it; `notebook_writing` then writes in one transaction what was found here.
"""

from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import AbstractContextManager
from dataclasses import dataclass
from pathlib import PurePath
from typing import Final, TypeAlias

from sqlalchemy import select
from sqlalchemy.orm import Session

from app.domain.codes import parse_batch_code
from app.domain.days import day_long
from app.domain.notebook import LineRemark, NotebookBatch, NotebookSheet, in_line_order
from app.domain.notebook_changes import described_changes
from app.domain.notebook_comparison import ComparedBatch, KeptBatch, LineState, compare_batch
from app.domain.notebook_names import KnownNames, NewNames, find_new_names, with_known_names
from app.store.models.meta import Meta
from app.store.queries.notebook_names import read_known_names
from app.store.queries.notebooks import (
    CHUNK,
    BatchOnDay,
    find_kept_batches,
    list_batches_on_days,
)

Reading: TypeAlias = Callable[[], AbstractContextManager[Session]]
Progress: TypeAlias = Callable[[str], None]

LONGEST_REFERENCE: Final = 80


@dataclass(frozen=True, kw_only=True)
class NotebookComparison:
    """A sheet beside the log: every batch compared, the state of every line, what would be made.

    `reference` is the name of the notebook, `history_length` tells whether the log has changed
    since. `wrong` keeps lines from being taken, `minded` only wants a look, `changes` says what
    the log has and would have.
    """

    reference: str
    batches: tuple[ComparedBatch, ...]
    states: Mapping[int, LineState]
    new_names: NewNames
    wrong: tuple[LineRemark, ...]
    minded: tuple[LineRemark, ...]
    changes: tuple[LineRemark, ...]
    ignored: tuple[str, ...]
    history_length: int

    @property
    def counts(self) -> Mapping[LineState, int]:
        """How many lines are new, changed, the same and wrong; each state is there."""
        counted = Counter(self.states.values())
        return {state: counted[state] for state in LineState}

    @property
    def to_write(self) -> tuple[ComparedBatch, ...]:
        """The batches that writing would make or correct."""
        return tuple(
            batch for batch in self.batches if batch.state is not LineState.SAME and not batch.wrong
        )


def notebook_name(filename: str) -> str:
    """Return the name of the notebook where none is given: the file's name without its ending."""
    return " ".join(PurePath(filename).stem.split())[:LONGEST_REFERENCE]


def compare_notebook(
    reading: Reading, *, sheet: NotebookSheet, reference: str, progress: Progress
) -> NotebookComparison:
    """Return the sheet beside the log; `reading` gives a short read whenever it is called.

    Batches are found by our own code with the same plant and day, else by their name in the
    notebook called `reference`.
    """
    with reading() as session:
        history_length = session.scalar(select(Meta.history_length)) or 0
        known = read_known_names(session)
    minded = list(sheet.minded)
    wrong = list(sheet.wrong)
    batches = _spelled(sheet.batches, known=known, minded=minded)
    compared = tuple(
        _compared(reading, batches, reference=reference, minded=minded, progress=progress)
    )
    minded += _doubles(reading, compared, reference=reference)
    for batch in compared:
        wrong += batch.wrong
    states = _states(sheet, compared=compared, wrong=wrong)
    # What is in the log already was looked at when it came there.
    minded = [remark for remark in minded if states[remark.line] is not LineState.SAME]
    for batch in compared:
        minded += batch.minded
    return NotebookComparison(
        reference=reference,
        batches=compared,
        states=states,
        new_names=find_new_names(compared, known=known),
        wrong=in_line_order(wrong),
        minded=in_line_order(minded),
        changes=in_line_order(change for batch in compared for change in described_changes(batch)),
        ignored=sheet.ignored,
        history_length=history_length,
    )


def _spelled(
    batches: Sequence[NotebookBatch], *, known: KnownNames, minded: list[LineRemark]
) -> list[NotebookBatch]:
    mothers = dict(known.mothers)
    return [
        with_known_names(batch, known=known, mothers=mothers, minded=minded) for batch in batches
    ]


def _compared(
    reading: Reading,
    batches: Sequence[NotebookBatch],
    *,
    reference: str,
    minded: list[LineRemark],
    progress: Progress,
) -> Iterator[ComparedBatch]:
    meant: set[int] = set()
    for start in range(0, len(batches), CHUNK):
        chunk = batches[start : start + CHUNK]
        with reading() as session:
            found = find_kept_batches(
                session,
                source=reference,
                references=[batch.reference for batch in chunk],
                codes=[code for batch in chunk if (code := _own_code(batch))],
            )
        shelf = _Shelf(found, source=reference)
        for batch in chunk:
            yield _beside(batch, shelf=shelf, meant=meant, minded=minded)
        progress(f"Compared {start + len(chunk):,} of {len(batches):,} batches with the log.")


class _Shelf:
    """The stored batches that a chunk of the sheet may mean."""

    def __init__(self, found: Iterable[KeptBatch], *, source: str) -> None:
        self._by_code: dict[str, KeptBatch] = {}
        self._by_reference: dict[str, KeptBatch] = {}
        for kept in found:
            self._by_code[kept.code] = kept
            if kept.source == source:
                self._by_reference.setdefault(kept.reference, kept)

    def find(self, batch: NotebookBatch) -> KeptBatch | None:
        """Return the stored batch: by our code with the same plant and day, else by reference."""
        kept = self.of_that_code(batch)
        if kept is not None and _same_plant_and_day(batch, kept=kept):
            return kept
        return self._by_reference.get(batch.reference)

    def of_that_code(self, batch: NotebookBatch) -> KeptBatch | None:
        """Return the stored batch whose code the reference is, whatever it is of."""
        return self._by_code.get(_own_code(batch))


def _beside(
    batch: NotebookBatch, *, shelf: _Shelf, meant: set[int], minded: list[LineRemark]
) -> ComparedBatch:
    kept = shelf.find(batch)
    if kept is None:
        minded += _another_of_that_code(batch, kept=shelf.of_that_code(batch))
        return compare_batch(batch, kept=None)
    compared = compare_batch(batch, kept=kept)
    if kept.id in meant:
        return _meant_twice(compared, code=kept.code)
    meant.add(kept.id)
    return compared


def _meant_twice(compared: ComparedBatch, *, code: str) -> ComparedBatch:
    sentence = f"Other lines of this sheet mean batch {code} already. Name it the same on all."
    wrong = tuple(
        LineRemark(line=line, column="batch", sentence=sentence) for line in compared.batch.lines
    )
    return ComparedBatch(
        batch=compared.batch,
        kept=compared.kept,
        words=compared.words,
        changed=(),
        checks=(),
        standing=compared.standing,
        wrong=wrong,
    )


def _another_of_that_code(batch: NotebookBatch, *, kept: KeptBatch | None) -> Iterator[LineRemark]:
    if kept is not None and kept.words.plant and kept.words.stuck_on:
        sentence = (
            f"In the log {kept.code} is {kept.words.plant.plain}, stuck on"
            f" {day_long(kept.words.stuck_on)}. This is taken as another batch, with a code of its"
            " own."
        )
        yield LineRemark(line=batch.lines[0], column="batch", sentence=sentence)


def _own_code(batch: NotebookBatch) -> str:
    code = parse_batch_code(batch.reference)
    return str(code) if code else ""


def _same_plant_and_day(batch: NotebookBatch, *, kept: KeptBatch) -> bool:
    plant = kept.words.plant
    return (
        plant is not None
        and plant.plain == batch.plant.plain
        and kept.words.stuck_on == batch.stuck_on
    )


def _doubles(
    reading: Reading, compared: Sequence[ComparedBatch], *, reference: str
) -> Iterator[LineRemark]:
    """Yield a remark on each new batch that another notebook, or the log itself, seems to hold."""
    new = sorted(
        (batch.batch for batch in compared if batch.kept is None), key=lambda one: one.stuck_on
    )
    for start in range(0, len(new), CHUNK):
        chunk = new[start : start + CHUNK]
        with reading() as session:
            found = list_batches_on_days(session, days={one.stuck_on for one in chunk})
        stored: dict[tuple[object, ...], list[BatchOnDay]] = {}
        for kept in found:
            if kept.source != reference:
                stored.setdefault((kept.plant, kept.stuck_on, kept.stuck), []).append(kept)
        for one in chunk:
            alike = stored.get((one.plant.plain, one.stuck_on, one.stuck))
            if alike:
                twin = min(alike, key=lambda kept: kept.reference != one.reference)
                yield LineRemark(line=one.lines[0], column="batch", sentence=_double_sentence(twin))


def _double_sentence(kept: BatchOnDay) -> str:
    where = f" ({kept.reference} of {kept.source})" if kept.source else ""
    return (
        f"The log has {kept.code}{where} with the same plant, day and number. If it is the same"
        " batch, take these lines out or give the notebook the name it had."
    )


def _states(
    sheet: NotebookSheet, *, compared: Sequence[ComparedBatch], wrong: Sequence[LineRemark]
) -> Mapping[int, LineState]:
    states: dict[int, LineState] = {}
    for batch in compared:
        states |= batch.line_states()
    out = {remark.line for remark in wrong}
    return {
        line: LineState.WRONG if line in out else states.get(line, LineState.WRONG)
        for line in sheet.lines
    }
