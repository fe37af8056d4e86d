"""Rounds on paper: printing a sheet, and typing its lines in as checks.

Each line becomes a check by itself: a wrong one is refused and keeps no other back. A line that
holds a check is never written again, so that a form arriving twice doubles nothing.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from functools import partial
from itertools import chain
from typing import Final

from sqlalchemy import func, insert, select, update
from sqlalchemy.orm import Session

from app.domain.check_entries import CheckEntry
from app.domain.check_words import found_words
from app.domain.days import day_short
from app.domain.due_lists import DueBatch
from app.domain.outcomes import CheckKind
from app.domain.people import Actor
from app.domain.problems import NotAccepted, Problem
from app.domain.round_sheets import LinesEntry, TypedLine, check_of_line, line_problems
from app.services.checks import record_check
from app.services.history import record_change
from app.store.models.benches import Bench
from app.store.models.round_sheets import RoundSheet, RoundSheetCause, RoundSheetLine
from app.store.queries.lost_causes import list_lost_causes
from app.store.queries.round_sheets import SheetLine, get_round_sheet
from app.store.queries.today import list_round

LATER_COUNT: Final = (
    "{code} was checked {when} since the sheet was printed: {found}. If this line is a further "
    "count, tick that, else clear the line."
)


@dataclass(frozen=True, kw_only=True)
class TypedIn:
    """What became of lines typed in: how many are checks now, and what is wrong with the others."""

    stored: int
    problems: tuple[Problem, ...]


def print_round_sheet(
    session: Session, *, actor: Actor, today: date, now: datetime, bench_id: int | None = None
) -> int:
    """Fix what is late or due, in the order it stands, as a sheet, and return its number.

    With `bench_id` only what stands on that bench.

    Raises:
        NotAccepted: there is no such bench, or nothing is late or due.
    """
    if bench_id is not None and session.get(Bench, bench_id) is None:
        raise NotAccepted.at("bench", "Choose a bench from the list.")
    wanted = [
        due for due in list_round(session, on=today) if bench_id is None or due.bench_id == bench_id
    ]
    if not wanted:
        where = "Nothing" if bench_id is None else "Nothing on this bench"
        raise NotAccepted.at("bench", f"{where} is late or due today: there is nothing to print.")
    number = (session.scalar(select(func.max(RoundSheet.number))) or 0) + 1
    sheet = RoundSheet(
        number=number, listed_on=today, bench_id=bench_id, made_by_id=actor.person_id, made_at=now
    )
    session.add(sheet)
    session.flush()
    _write_lines(session, wanted, sheet_id=sheet.id)
    _number_causes(session, sheet_id=sheet.id)
    subject = f"round sheet {number}"
    record_change(
        session, actor=actor, now=now, what="round sheet made", subject=subject, change={}
    )
    return number


def type_in_lines(
    session: Session, *, actor: Actor, today: date, now: datetime, number: int, entry: LinesEntry
) -> TypedIn:
    """Write down the lines of a sheet that hold something, each as a check of its own.

    Lines that were refused leave nothing behind; their problems name the field with the line's
    position, such as "rooted-12".

    Raises:
        NotAccepted: the day cannot be.
        NotFound: there is no such sheet.
    """
    sheet = get_round_sheet(session, number=number)
    if entry.checked_on > today:
        sentence = "This day is still to come: give the day the round was made."
        raise NotAccepted.at("checked_on", sentence)
    typed = {line.position: line for line in entry.lines if not line.is_blank}
    found = [
        _type_in(
            session,
            actor=actor,
            today=today,
            now=now,
            line=line,
            check=partial(check_of_line, entry=entry, causes=sheet.causes),
            typed=typed[line.position],
        )
        for line in sheet.lines
        if line.position in typed
    ]
    return TypedIn(
        stored=sum(1 for problems in found if not problems),
        problems=tuple(chain.from_iterable(found)),
    )


def _type_in(
    session: Session,
    *,
    actor: Actor,
    today: date,
    now: datetime,
    line: SheetLine,
    check: Callable[[TypedLine], CheckEntry],
    typed: TypedLine,
) -> tuple[Problem, ...]:
    """Write one line down and return what is wrong with it; then nothing of it is written."""
    if not line.is_open:
        return _other_content(line, typed=typed)
    try:
        with session.begin_nested():
            said = check(typed)
            if not typed.again:
                _ask_about_later(line, check=said, today=today)
            recorded = record_check(
                session, actor=actor, today=today, now=now, batch_id=line.batch_id, entry=said
            )
            session.execute(
                update(RoundSheetLine)
                .where(RoundSheetLine.id == line.id)
                .values(check_id=recorded.check_id, typed=typed.text)
            )
    except NotAccepted as refusal:
        return line_problems(refusal.problems, position=line.position)
    return ()


def _other_content(line: SheetLine, *, typed: TypedLine) -> tuple[Problem, ...]:
    """Return what is wrong with a line that arrives again; nothing if it is the same one."""
    if line.stored is None or typed.text == line.typed:
        return ()
    sentence = (
        f"Line {line.position}, {line.code}, is stored already: "
        f"{found_words(line.stored.counts)}. Open its check to correct it."
    )
    return (Problem(field="", sentence=sentence),)


def _ask_about_later(line: SheetLine, *, check: CheckEntry, today: date) -> None:
    """Refuse a count that may be in the log already, entered by another way since."""
    counted = [one for one in line.meanwhile if one.counts.kind is CheckKind.COUNTED]
    if check.kind is not CheckKind.COUNTED or not counted:
        return
    newest = counted[-1].counts
    sentence = LATER_COUNT.format(
        code=line.code,
        when=day_short(newest.checked_on, today=today),
        found=found_words(newest),
    )
    raise NotAccepted.at("again", sentence)


def _write_lines(session: Session, wanted: Sequence[DueBatch], *, sheet_id: int) -> None:
    lines = [
        {
            "round_sheet_id": sheet_id,
            "position": position,
            "batch_id": due.batch_id,
            "bench_id": due.bench_id,
            "unrooted": due.standing.unrooted,
        }
        for position, due in enumerate(wanted, start=1)
    ]
    session.execute(insert(RoundSheetLine), lines)


def _number_causes(session: Session, *, sheet_id: int) -> None:
    """Fix the numbers of the causes, as they are written by hand on this sheet."""
    rows = [
        {"round_sheet_id": sheet_id, "number": number, "lost_cause_id": cause.id}
        for number, cause in enumerate(list_lost_causes(session), start=1)
    ]
    if rows:
        session.execute(insert(RoundSheetCause), rows)
