"""Makes batches of the lines of a notebook sheet, and finds what contradicts."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date

from app.domain.days import day_long
from app.domain.notebook import (
    BLANK,
    WORDS,
    BatchWords,
    LineRemark,
    NotebookBatch,
    NotebookLine,
    NotebookSheet,
    in_line_order,
    same_words,
    says,
    shown,
)
from app.domain.notebook_checks import read_checks
from app.domain.notebook_columns import BATCH, REQUIRED_FIRST, recognise_header
from app.domain.notebook_lines import LineReader
from app.domain.problems import NotAccepted
from app.domain.sheet_lines import SheetLine


@dataclass(frozen=True, kw_only=True, slots=True)
class _Entry:
    """One line under its batch; no `line` where it is wrong in itself."""

    number: int
    line: NotebookLine | None


def read_notebook(lines: Iterable[SheetLine], *, today: date) -> NotebookSheet:
    """Return the sheet as it was understood; its first line is the header.

    Raises:
        NotAccepted: the header lacks a column that is needed, or nothing stands below it.
    """
    rows = iter(lines)
    header = recognise_header(next(rows).cells)
    reader = LineReader(header, today=today)
    wrong: list[LineRemark] = []
    numbers: list[int] = []
    groups: dict[str, list[_Entry]] = {}
    for row in rows:
        line, problems, reference = reader.read(row)
        numbers.append(row.number)
        wrong += problems
        if reference:
            groups.setdefault(reference, []).append(_Entry(number=row.number, line=line))
    if not numbers:
        raise NotAccepted.at("sheet", "Nothing stands below the header. Add a line per check.")
    minded = reader.minded
    batches = [
        batch
        for reference, entries in groups.items()
        for batch in _batch(reference, entries, wrong=wrong, minded=minded)
    ]
    return NotebookSheet(
        batches=tuple(batches),
        wrong=in_line_order(wrong),
        minded=in_line_order(minded),
        ignored=header.ignored,
        lines=tuple(numbers),
    )


def _batch(
    reference: str,
    entries: Sequence[_Entry],
    *,
    wrong: list[LineRemark],
    minded: list[LineRemark],
) -> Iterator[NotebookBatch]:
    """Yield the batch if its first line can be taken."""
    first = entries[0]
    problems = [] if first.line is None else _first_problems(first.line)
    if first.line is None or problems:
        wrong += problems
        wrong += _begun_wrong(reference, entries=entries, but={first.number})
        return
    words, sound = _merged([entry.line for entry in entries if entry.line], wrong=wrong)
    batch = NotebookBatch(reference=reference, lines=(), words=words)
    checked = read_checks(
        sound,
        stuck=batch.stuck,
        stuck_on=batch.stuck_on,
        doubtful=len(sound) < len(entries),
    )
    wrong += checked.wrong
    minded += checked.minded
    out = {remark.line for remark in checked.wrong}
    if first.number in out:
        wrong += _begun_wrong(reference, entries=entries, but=out)
        return
    if out:
        sound = [line for line in sound if line.number not in out]
        words, _ = _merged(sound, wrong=[])
    lines = tuple(line.number for line in sound)
    yield replace(batch, lines=lines, words=words, checks=checked.checks)


def _begun_wrong(
    reference: str, *, entries: Sequence[_Entry], but: set[int]
) -> Iterator[LineRemark]:
    """Yield for the other lines of a batch that they cannot be taken without its first."""
    begins = entries[0].number
    sentence = f"Batch {reference} begins on line {begins}, which is wrong. Mend that."
    for entry in entries[1:]:
        if entry.line is not None and entry.number not in but:
            yield LineRemark(line=entry.number, column=BATCH, sentence=sentence)


def _first_problems(first: NotebookLine) -> list[LineRemark]:
    lacking = [
        LineRemark(
            line=first.number,
            column=column,
            sentence=f"Batch {first.batch} begins on this line, so put {column} here.",
        )
        for column in REQUIRED_FIRST
        if getattr(first.words, column) is None
    ]
    return lacking or _taken_too_late(first, words=first.words)


def _taken_too_late(line: NotebookLine, *, words: BatchWords) -> list[LineRemark]:
    if words.taken_on is None or words.stuck_on is None or words.taken_on <= words.stuck_on:
        return []
    sentence = f"Stuck on {day_long(words.stuck_on)}. Put a day up to that, or leave this blank."
    return [LineRemark(line=line.number, column="taken_on", sentence=sentence)]


def _merged(
    lines: Sequence[NotebookLine], *, wrong: list[LineRemark]
) -> tuple[BatchWords, list[NotebookLine]]:
    """Return what the lines say of their batch together, and those that do not contradict."""
    first = lines[0]
    words = first.words
    sound = [first]
    for line in lines[1:]:
        if line.words in (BLANK, words):
            sound.append(line)
            continue
        added = _added(words, line.words)
        problems = _contradictions(line, words=words) or _taken_too_late(line, words=added)
        if problems:
            wrong += problems
        else:
            words = added
            sound.append(line)
    return words, sound


def _added(words: BatchWords, more: BatchWords) -> BatchWords:
    new = {column: said for column in WORDS if (said := getattr(more, column)) and column != "note"}
    known = {column: said for column in WORDS if (said := getattr(words, column))}
    notes = dict.fromkeys(note for note in (words.note, more.note) if note)
    return replace(words, **(new | known | {"note": "; ".join(notes)}))


def _contradictions(line: NotebookLine, *, words: BatchWords) -> list[LineRemark]:
    return [
        LineRemark(
            line=line.number,
            column=column,
            sentence=f"Batch {line.batch} has {shown(known)} on a line before, here {shown(said)}."
            " Make them the same, or leave this blank.",
        )
        for column in WORDS
        if column != "note"
        and says(said := getattr(line.words, column))
        and says(known := getattr(words, column))
        and not same_words(said, other=known)
    ]
