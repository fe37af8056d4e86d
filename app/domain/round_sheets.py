"""A round on paper: what a line of the sheet says once it is typed in."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Final

from app.domain.check_entries import CheckEntry
from app.domain.outcomes import CheckKind, Loss
from app.domain.problems import NotAccepted, Problem
from app.domain.quantities import parse_optional_quantity
from app.domain.typed_counts import RootedAs

FIELDS: Final = ("rooted", "lost", "cause", "again")
"""The fields of a line; whatever else is refused of a check stands beside the first."""


@dataclass(frozen=True, kw_only=True)
class SheetCause:
    """A cause as it stands on a sheet: its number there, and its name now."""

    number: int
    name: str


@dataclass(frozen=True, kw_only=True)
class TypedLine:
    """One line as it was typed; `again` says that it is a further check of the batch."""

    position: int
    rooted: str = ""
    lost: str = ""
    cause: str = ""
    looked: bool = False
    again: bool = False

    @property
    def is_blank(self) -> bool:
        """Whether nothing was entered, so that the line stays open."""
        return not (self.rooted or self.lost or self.cause or self.looked)

    @property
    def text(self) -> str:
        """What was typed, by which the same form is known when it arrives again."""
        return "|".join((self.rooted, self.lost, self.cause, "looked" if self.looked else ""))


@dataclass(frozen=True, kw_only=True)
class LinesEntry:
    """What holds for all lines of one saving: the day, who looked, what rooted numbers mean."""

    checked_on: date
    checked_by_id: int | None
    typed_as: RootedAs
    lines: tuple[TypedLine, ...]


def check_of_line(
    line: TypedLine, *, entry: LinesEntry, causes: Sequence[SheetCause]
) -> CheckEntry:
    """Return the check that a line says.

    Raises:
        NotAccepted: a number is none, or one of rooted, lost and cause is missing.
    """
    problems: list[Problem] = []
    rooted, lost = (
        _number(text, field=field, problems=problems)
        for field, text in (("rooted", line.rooted), ("lost", line.lost))
    )
    cause = _cause(line.cause, causes=causes, problems=problems)
    if not problems:
        problems += _missing(line, rooted=rooted, lost=lost)
    if problems:
        raise NotAccepted(tuple(problems))
    counted = rooted is not None
    return CheckEntry(
        checked_on=entry.checked_on,
        kind=CheckKind.COUNTED if counted else CheckKind.LOOKED_ONLY,
        rooted=rooted or 0,
        typed_as=entry.typed_as if counted else RootedAs.NEW,
        lost=(Loss(cause=cause, number=lost),) if lost else (),
        checked_by_id=entry.checked_by_id,
    )


def line_problems(problems: Iterable[Problem], *, position: int) -> tuple[Problem, ...]:
    """Return the problems of a line's check, each beside a field of its line and naming it."""
    return tuple(
        Problem(
            field=f"{problem.field if problem.field in FIELDS else FIELDS[0]}-{position}",
            sentence=f"Line {position}: {problem.sentence}",
        )
        for problem in problems
    )


def _missing(line: TypedLine, *, rooted: int | None, lost: int | None) -> Iterable[Problem]:
    if rooted is None and (lost is not None or line.cause):
        yield Problem(field="rooted", sentence="Type how many have rooted, 0 if none.")
    if lost and not line.cause:
        sentence = "Type the cause, by its number on the sheet or its first letters."
        yield Problem(field="cause", sentence=sentence)
    if line.cause and not lost:
        sentence = "Type how many were lost to it, or clear the cause."
        yield Problem(field="lost", sentence=sentence)


def _number(text: str, *, field: str, problems: list[Problem]) -> int | None:
    try:
        quantity = parse_optional_quantity(text, field=field)
    except NotAccepted as refusal:
        problems.extend(refusal.problems)
        return None
    return quantity.number if quantity else None


def _cause(text: str, *, causes: Sequence[SheetCause], problems: list[Problem]) -> str:
    """Return the cause of that number on the sheet, of that name, or the one so beginning."""
    typed = " ".join(text.split()).casefold()
    if not typed:
        return ""
    if typed.isdecimal():
        found = [cause.name for cause in causes if cause.number == int(typed)]
    else:
        names = [cause.name for cause in causes]
        found = [name for name in names if name.casefold() == typed] or [
            name for name in names if name.casefold().startswith(typed)
        ]
    if len(found) == 1:
        return found[0]
    sentence = (
        f"This can be {' or '.join(found)}: type more of it."
        if found
        else "This cause is not on the sheet: type its number there, or its first letters."
    )
    problems.append(Problem(field="cause", sentence=sentence))
    return ""
