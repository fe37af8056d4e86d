"""How a batch of a notebook sheet compares with the one that is stored, and what would change.

A blank cell says nothing and changes nothing; a batch or check of the log that the sheet does not
mention stays as it is.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from enum import StrEnum
from typing import Final

from app.domain.days import day_long
from app.domain.notebook import (
    WORDS,
    BatchWords,
    LineRemark,
    NotebookBatch,
    NotebookCheck,
    same_words,
    says,
)
from app.domain.outcomes import CheckCounts, DoesNotAddUp, Standing, tally


class LineState(StrEnum):
    """What a line of a sheet means to the log."""

    NEW = "new"
    CHANGED = "changed"
    SAME = "the same"
    WRONG = "wrong"


@dataclass(frozen=True, kw_only=True, slots=True)
class KeptCheck:
    """A check as it is stored, in the words of a sheet; `id` finds it again."""

    id: int
    counts: CheckCounts
    unrooted_counted: int | None = None
    checked_by: str = ""
    note: str = ""


@dataclass(frozen=True, kw_only=True, slots=True)
class KeptBatch:
    """A batch as it is stored, in the words of a sheet, with all of its checks.

    `reference` is its name in the sheet called `source`, if it came from one. `restuck` is what was
    taken out of it and stuck again, of which no sheet knows.
    """

    id: int
    code: str
    reference: str
    source: str
    words: BatchWords
    checks: tuple[KeptCheck, ...] = ()
    voided: bool = False
    restuck: tuple[CheckCounts, ...] = ()


@dataclass(frozen=True, kw_only=True, slots=True)
class ComparedCheck:
    """One check of the sheet beside the stored one; `counts` is what would be stored.

    `kept` is None for a new check.
    """

    state: LineState
    check: NotebookCheck
    counts: CheckCounts
    kept: KeptCheck | None = None


@dataclass(frozen=True, kw_only=True)
class ComparedBatch:
    """One batch of the sheet beside the stored one.

    `words` is what would be stored, `changed` the columns in which that differs. `standing` is
    where the batch would stand, with the stored checks that the sheet does not mention.
    """

    batch: NotebookBatch
    kept: KeptBatch | None
    words: BatchWords
    changed: tuple[str, ...]
    checks: tuple[ComparedCheck, ...]
    standing: Standing
    wrong: tuple[LineRemark, ...] = ()
    minded: tuple[LineRemark, ...] = ()

    @property
    def state(self) -> LineState:
        """Return new, changed or the same; changed also where only checks are new or differ."""
        if self.kept is None:
            return LineState.NEW
        differs = self.changed or any(check.state is not LineState.SAME for check in self.checks)
        return LineState.CHANGED if differs else LineState.SAME

    @property
    def all_counts(self) -> tuple[CheckCounts, ...]:
        """The counts of every live check as they would be stored."""
        return _all_counts(self.kept, self.checks)

    def line_states(self) -> dict[int, LineState]:
        """Return the state of each of the batch's lines, the wrong ones as wrong."""
        usual = LineState.NEW if self.kept is None else LineState.SAME
        states = dict.fromkeys(self.batch.lines, usual)
        for check in self.checks:
            states |= dict.fromkeys(check.check.lines, check.state)
        if self.changed:
            states[self.batch.lines[0]] = LineState.CHANGED
        return states | {remark.line: LineState.WRONG for remark in self.wrong}


_SHEET_COLUMNS: Final = ("unrooted_counted", "checked_by", "note")


def compare_batch(batch: NotebookBatch, *, kept: KeptBatch | None) -> ComparedBatch:
    """Return the batch of the sheet beside the stored one, None where it is new.

    Lines whose changes would no longer add up with the stored checks are wrong.
    """
    words = batch.words if kept is None else _said_over(kept.words, batch.words)
    changed = () if kept is None else _changed(kept.words, words)
    minded: list[LineRemark] = []
    checks = _compare_checks(batch, kept=kept, minded=minded)
    wrong = _voided(batch, kept=kept) or _taken_too_late(batch, words=words)
    wrong = wrong or _counted_past_restuck(kept, checks=checks)
    standing, misfits = _standing(batch, words=words, kept=kept, checks=checks)
    return ComparedBatch(
        batch=batch,
        kept=kept,
        words=words,
        changed=changed,
        checks=checks,
        standing=standing,
        wrong=wrong or misfits,
        minded=tuple(minded),
    )


def _said_over(kept: BatchWords, said: BatchWords) -> BatchWords:
    """Return the stored words with those of the sheet over them, where it says other ones."""
    new = {
        column: value
        for column in WORDS
        if says(value := getattr(said, column))
        and not same_words(value, other=getattr(kept, column))
    }
    return replace(kept, **new)


def _changed(kept: BatchWords, words: BatchWords) -> tuple[str, ...]:
    if words == kept:
        return ()
    return tuple(column for column in WORDS if getattr(words, column) != getattr(kept, column))


def _compare_checks(
    batch: NotebookBatch, *, kept: KeptBatch | None, minded: list[LineRemark]
) -> tuple[ComparedCheck, ...]:
    stored = _by_day(kept.checks if kept else ())
    days: dict[date, list[NotebookCheck]] = {}
    for check in batch.checks:
        days.setdefault(check.counts.checked_on, []).append(check)
    compared: list[ComparedCheck] = []
    for day, checks in days.items():
        compared += _compare_day(checks, stored=stored.get(day, []), minded=minded)
    return tuple(compared)


def _by_day(checks: Sequence[KeptCheck]) -> Mapping[date, list[KeptCheck]]:
    days: dict[date, list[KeptCheck]] = {}
    for check in sorted(checks, key=lambda kept: kept.counts.running):
        days.setdefault(check.counts.checked_on, []).append(check)
    return days


def _compare_day(
    checks: Sequence[NotebookCheck], *, stored: Sequence[KeptCheck], minded: list[LineRemark]
) -> list[ComparedCheck]:
    """Return each check of a day beside the stored one of the same number among the live ones."""
    live = [kept for kept in stored if not kept.counts.withdrawn]
    withdrawn = [kept for kept in stored if kept.counts.withdrawn]
    running = max((kept.counts.running for kept in stored), default=0)
    compared = [_beside(check, kept=kept) for check, kept in zip(checks, live, strict=False)]
    for check in checks[len(live) :]:
        taken_back = next((kept for kept in withdrawn if _says_same(check, kept=kept)), None)
        if taken_back is not None:
            withdrawn.remove(taken_back)
            minded.append(_stays_withdrawn(check))
            compared.append(
                ComparedCheck(
                    state=LineState.SAME, check=check, counts=taken_back.counts, kept=taken_back
                )
            )
            continue
        running += 1
        counts = replace(check.counts, running=running)
        compared.append(ComparedCheck(state=LineState.NEW, check=check, counts=counts))
    return compared


def _beside(check: NotebookCheck, *, kept: KeptCheck) -> ComparedCheck:
    if _says_same(check, kept=kept):
        return ComparedCheck(state=LineState.SAME, check=check, counts=kept.counts, kept=kept)
    counts = replace(
        check.counts, running=kept.counts.running, callused=_callused(check, kept=kept)
    )
    return ComparedCheck(state=LineState.CHANGED, check=check, counts=counts, kept=kept)


def _callused(check: NotebookCheck, *, kept: KeptCheck) -> int | None:
    """Return how many were callused, which a sheet does not say, where that still fits."""
    same_kind = check.counts.kind is kept.counts.kind
    return kept.counts.callused if same_kind else None


def _says_same(check: NotebookCheck, *, kept: KeptCheck) -> bool:
    if _plain(check.counts) != _plain(kept.counts):
        return False
    for column in _SHEET_COLUMNS:
        said = getattr(check, column)
        if says(said) and not same_words(said, other=getattr(kept, column)):
            return False
    return True


def _plain(counts: CheckCounts) -> tuple[object, ...]:
    lost = {loss.cause.casefold(): loss.number for loss in counts.lost if loss.number}
    return (counts.kind, counts.rooted, lost, counts.looked, counts.ending)


def _stays_withdrawn(check: NotebookCheck) -> LineRemark:
    sentence = (
        f"This check of {day_long(check.counts.checked_on)} was withdrawn in the log and stays so."
    )
    return LineRemark(line=check.lines[0], column="", sentence=sentence)


def _voided(batch: NotebookBatch, *, kept: KeptBatch | None) -> tuple[LineRemark, ...]:
    if kept is None or not kept.voided:
        return ()
    sentence = (
        f"Batch {batch.reference} is {kept.code} in the log and void there. Reinstate it on its"
        " page, or take these lines out."
    )
    return tuple(LineRemark(line=line, column="batch", sentence=sentence) for line in batch.lines)


def _taken_too_late(batch: NotebookBatch, *, words: BatchWords) -> tuple[LineRemark, ...]:
    """Return what is wrong where the days of the sheet and of the log cross."""
    if words.taken_on is None or words.stuck_on is None or words.taken_on <= words.stuck_on:
        return ()
    sentence = (
        f"In the log its cuttings were taken on {day_long(words.taken_on)}; stuck on"
        f" {day_long(words.stuck_on)} would be before that. Put both days here."
    )
    return tuple(
        LineRemark(line=line, column="stuck_on", sentence=sentence) for line in batch.lines
    )


def _counted_past_restuck(
    kept: KeptBatch | None, *, checks: Sequence[ComparedCheck]
) -> tuple[LineRemark, ...]:
    """Return the lines that count the unrooted without those that were re-stuck before."""
    first = min((moved.checked_on for moved in kept.restuck), default=None) if kept else None
    if kept is None or first is None:
        return ()
    sentence = (
        f"Some of {kept.code} were re-stuck on {day_long(first)}, which a sheet cannot say: leave "
        "the unrooted blank from that day on, or correct the check in the log."
    )
    return tuple(
        LineRemark(line=check.check.lines[0], column="unrooted_counted", sentence=sentence)
        for check in checks
        if check.state is not LineState.SAME
        and check.check.unrooted_counted is not None
        and check.counts.checked_on >= first
    )


def _all_counts(kept: KeptBatch | None, checks: Sequence[ComparedCheck]) -> tuple[CheckCounts, ...]:
    mentioned = {check.kept.id for check in checks if check.kept}
    others = (check.counts for check in (kept.checks if kept else ()) if check.id not in mentioned)
    moved = kept.restuck if kept else ()
    counts = (*others, *(check.counts for check in checks), *moved)
    return tuple(check for check in counts if not check.withdrawn)


def _standing(
    batch: NotebookBatch,
    *,
    words: BatchWords,
    kept: KeptBatch | None,
    checks: Sequence[ComparedCheck],
) -> tuple[Standing, tuple[LineRemark, ...]]:
    stuck, stuck_on = words.stuck or batch.stuck, words.stuck_on or batch.stuck_on
    try:
        return tally(_all_counts(kept, checks), stuck=stuck, stuck_on=stuck_on), ()
    except DoesNotAddUp as refusal:
        line, column = _culprit(batch, checks=checks, refusal=refusal)
        code = kept.code if kept else batch.reference
        sentence = f"With the checks that {code} has in the log this does not add up. {refusal}"
        first = LineRemark(line=line, column=column, sentence=sentence)
        others = f"Batch {batch.reference} does not add up with the log, see line {line}."
        rest = (
            LineRemark(line=other, column="batch", sentence=others)
            for other in batch.lines
            if other != line
        )
        return Standing(stuck=stuck), (first, *rest)


def _culprit(
    batch: NotebookBatch, *, checks: Sequence[ComparedCheck], refusal: DoesNotAddUp
) -> tuple[int, str]:
    """Return the line and column to name: the check refused, else the first that would change."""
    for check in checks:
        if check.counts is refusal.check:
            return check.check.lines[0], refusal.problems[0].field
    for check in checks:
        if check.state is not LineState.SAME:
            return check.check.lines[0], "rooted"
    return batch.lines[0], "stuck"
