"""Makes checks of the check lines of one batch, and sees that they add up.

Several lines of one day with different causes of loss are one check. Any other line of that day
begins the next check, which gets the next running number of the day.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import Final

from app.domain.lost_causes import MISSING, NOT_KNOWN
from app.domain.notebook import CheckWords, LineRemark, NotebookCheck, NotebookLine
from app.domain.outcomes import CheckCounts, CheckKind, DoesNotAddUp, Ending, Loss, cuttings, tally

_MOST_ATTEMPTS: Final = 20
_COLUMNS: Final = {"looked": "unrooted_counted", "callused": "rooted"}


@dataclass(frozen=True, kw_only=True, slots=True)
class CheckLine:
    """The check of one line, with the line's number."""

    number: int
    check: CheckWords

    @property
    def cause(self) -> str:
        """What cuttings were lost to here; "" where none were."""
        return (self.check.lost_cause or NOT_KNOWN) if self.check.lost else ""


@dataclass(frozen=True, kw_only=True)
class Checked:
    """The checks of a batch that add up, by day, and what is wrong or wants a look."""

    checks: tuple[NotebookCheck, ...]
    wrong: tuple[LineRemark, ...]
    minded: tuple[LineRemark, ...]


def read_checks(
    lines: Iterable[NotebookLine], *, stuck: int, stuck_on: date, doubtful: bool = False
) -> Checked:
    """Return the checks that the lines of one batch hold.

    A wrong check takes its other lines with it; what comes after it is judged without it.
    `doubtful` says that other lines of the batch could not be read at all.
    """
    wrong: list[LineRemark] = []
    minded: list[LineRemark] = []
    checks: list[NotebookCheck] = []
    doubt_from = date.min if doubtful else date.max
    found = [CheckLine(number=line.number, check=line.check) for line in lines if line.check]
    for day, drafts in _by_day(found, minded=minded).items():
        for running, draft in enumerate(drafts, start=1):
            problems = _contradictions(draft)
            if problems:
                wrong += problems
                doubt_from = min(doubt_from, day)
            else:
                checks.append(_check(draft, running=running))
    checks.sort(key=lambda check: (check.counts.checked_on, check.counts.running))
    adding = _Adding(stuck=stuck, stuck_on=stuck_on, doubt_from=doubt_from)
    sound = adding.sound(checks)
    minded += _missing_remarks(sound, before=checks)
    return Checked(checks=tuple(sound), wrong=tuple(wrong + adding.wrong), minded=tuple(minded))


def _by_day(
    lines: Sequence[CheckLine], *, minded: list[LineRemark]
) -> dict[date, list[list[CheckLine]]]:
    days: dict[date, list[list[CheckLine]]] = {}
    for line in lines:
        drafts = days.setdefault(line.check.checked_on, [])
        if drafts and _continues(drafts[-1], line):
            drafts[-1].append(line)
            continue
        twin = next((draft[0] for draft in drafts if draft[0].check == line.check), None)
        if twin is not None:
            sentence = (
                f"This says the same as line {twin.number} and is taken as another check of that"
                " day. Take one of the two out if it was written twice."
            )
            minded.append(LineRemark(line=line.number, column="", sentence=sentence))
        drafts.append([line])
    return days


def _continues(draft: Sequence[CheckLine], line: CheckLine) -> bool:
    """Return whether the line only adds another cause of loss to the check before it."""
    kinds = {line.check.kind, draft[0].check.kind}
    causes = {earlier.cause for earlier in draft}
    return bool(line.cause) and line.cause not in causes and kinds == {CheckKind.COUNTED}


def _contradictions(draft: Sequence[CheckLine]) -> list[LineRemark]:
    """Return what the lines of one check say twice and differently; each later line is named."""
    first = draft[0]
    wrong: list[LineRemark] = []
    for column in ("rooted", "unrooted_counted", "ending", "checked_by"):
        said = [line for line in draft if getattr(line.check, column)]
        for line in said[1:]:
            same = getattr(line.check, column) == getattr(said[0].check, column)
            if column == "rooted" or not same:
                sentence = (
                    f"Line {said[0].number} is the same check and says {column} already. Say it"
                    " on one of the two lines only."
                )
                wrong.append(LineRemark(line=line.number, column=column, sentence=sentence))
    return wrong + _taken_along(draft, but=wrong, because=first.number) if wrong else []


def _taken_along(
    draft: Sequence[CheckLine], *, but: Sequence[LineRemark], because: int
) -> list[LineRemark]:
    named = {remark.line for remark in but}
    place = min(named, default=because)
    sentence = f"This is the same check as line {place}, which is wrong. Mend that line."
    return [
        LineRemark(line=line.number, column="", sentence=sentence)
        for line in draft
        if line.number not in named
    ]


def _check(draft: Sequence[CheckLine], *, running: int) -> NotebookCheck:
    words = [line.check for line in draft]
    kind = words[0].kind
    rooted = sum(said.rooted or 0 for said in words)
    counted = next(
        (said.unrooted_counted for said in words if said.unrooted_counted is not None), None
    )
    is_sample = kind is CheckKind.SAMPLE
    counts = CheckCounts(
        checked_on=words[0].checked_on,
        running=running,
        kind=kind,
        rooted=rooted,
        lost=tuple(
            Loss(cause=line.cause, number=line.check.lost or 0) for line in draft if line.cause
        ),
        looked=rooted + (counted or 0) if is_sample else None,
        ending=next((said.ending for said in words if said.ending), Ending.NONE),
    )
    return NotebookCheck(
        lines=tuple(line.number for line in draft),
        counts=counts,
        unrooted_counted=None if is_sample else counted,
        checked_by=next((said.checked_by for said in words if said.checked_by), ""),
        note="; ".join(dict.fromkeys(said.note for said in words if said.note)),
    )


@dataclass(frozen=True, kw_only=True, slots=True)
class _Misfit:
    """The first check that does not fit: its place in the order, the column, the sentence."""

    place: int
    column: str
    sentence: str


def _whole_check(check: NotebookCheck, misfit: _Misfit) -> list[LineRemark]:
    first, *others = check.lines
    along = f"This is the same check as line {first}, which is wrong. Mend that line."
    return [
        LineRemark(line=first, column=misfit.column, sentence=misfit.sentence),
        *(LineRemark(line=line, column="", sentence=along) for line in others),
    ]


class _Adding:
    """Adds up the checks of one batch, taking out what does not fit.

    From `doubt_from` on a wrong line may be what a short count lacks, so nothing is called
    missing.
    """

    def __init__(self, *, stuck: int, stuck_on: date, doubt_from: date) -> None:
        self.wrong: list[LineRemark] = []
        self._stuck = stuck
        self._stuck_on = stuck_on
        self._doubt_from = doubt_from

    def sound(self, checks: Sequence[NotebookCheck]) -> list[NotebookCheck]:
        """Return the checks that add up, missing ones among the losses; `wrong` says the rest."""
        left = list(checks)
        for _ in range(_MOST_ATTEMPTS):
            counted, misfit = self._with_missing(left)
            misfit = misfit or self._first_misfit(counted)
            if misfit is None:
                return counted
            self.wrong += _whole_check(left[misfit.place], misfit)
            self._doubt_from = min(self._doubt_from, left[misfit.place].counts.checked_on)
            del left[misfit.place]
        sentence = "Too many lines of this batch do not add up. Mend the earlier ones first."
        for check in left:
            self.wrong += (
                LineRemark(line=line, column="", sentence=sentence) for line in check.lines
            )
        return []

    def _with_missing(
        self, checks: Sequence[NotebookCheck]
    ) -> tuple[list[NotebookCheck], _Misfit | None]:
        """Return the checks with what a count of the unrooted left unexplained lost as missing."""
        left = self._stuck
        counted: list[NotebookCheck] = []
        for place, check in enumerate(checks):
            if check.counts.kind is CheckKind.COUNTED:
                left -= check.counts.rooted + check.counts.lost_in_all
            said = check.unrooted_counted
            if said is None or said == left or left < 0:
                counted.append(check)
                continue
            doubtful = check.counts.checked_on >= self._doubt_from
            if said > left or doubtful:
                sentence = _not_left(said, left=left)
                return counted, _Misfit(place=place, column="unrooted_counted", sentence=sentence)
            counted.append(_losing(check, missing=left - said))
            left = said
        return counted, None

    def _first_misfit(self, checks: Sequence[NotebookCheck]) -> _Misfit | None:
        counts = [check.counts for check in checks]
        try:
            tally(counts, stuck=self._stuck, stuck_on=self._stuck_on)
        except DoesNotAddUp as refusal:
            place = next(place for place, count in enumerate(counts) if count is refusal.check)
            problem = refusal.problems[0]
            column = _COLUMNS.get(problem.field, problem.field)
            return _Misfit(place=place, column=column, sentence=problem.sentence)
        return None


def _losing(check: NotebookCheck, *, missing: int) -> NotebookCheck:
    numbers = {loss.cause: loss.number for loss in check.counts.lost}
    numbers[MISSING] = numbers.get(MISSING, 0) + missing
    lost = tuple(Loss(cause=cause, number=number) for cause, number in numbers.items())
    return replace(check, counts=replace(check.counts, lost=lost))


def _not_left(said: int, *, left: int) -> str:
    if said > left:
        return (
            f"By the lines so far at most {left:,} can be left unrooted, not {said:,}. Count again,"
            " or correct a line before."
        )
    return (
        f"By the lines so far, leaving out the wrong ones, {left:,} should be left unrooted, not"
        f" {said:,}. Mend those lines first."
    )


def _missing_remarks(
    checks: Sequence[NotebookCheck], *, before: Sequence[NotebookCheck]
) -> list[LineRemark]:
    written = {check.lines: check.counts.lost_in_all for check in before}
    return [
        LineRemark(
            line=check.lines[0],
            column="unrooted_counted",
            sentence=f"{cuttings(missing)} fewer counted unrooted than there should be: taken as"
            " lost, missing.",
        )
        for check in checks
        if (missing := check.counts.lost_in_all - written[check.lines])
    ]
