"""The command `due`: what wants a look, by bench or by what waiting costs."""

import argparse
import json
from collections.abc import Iterator
from datetime import date
from typing import Final, TypeAlias

from app.cli.context import Context
from app.cli.learning import learn_or_remark
from app.clock import local_date
from app.domain.days import day_long, lateness, parse_day
from app.domain.due import DueState, batch_count, bench_summary, today_heading
from app.domain.due_lists import NO_BENCH, DueBatch, DueList
from app.formats.csv_sheets import csv_chunks
from app.store.queries.nursery import get_nursery
from app.store.queries.today import list_due

FORMATS: Final = ("table", "csv", "json")
ORDERS: Final = ("bench", "cost")
COLUMNS: Final = (
    "batch", "plant", "bench", "state", "due_on", "late_on", "next_look_on", "next_count_on",
    "stuck_on", "age_days", "stuck", "rooted", "lost", "unrooted", "urgent", "expect",
    "expected_new", "expected_ever", "waiting_cost", "finish", "basis",
)  # fmt: skip
_EVERYTHING: Final = 1_000_000

Value: TypeAlias = str | int | float | None


def add_parser(commands: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    """Add `due [--on D] [--order bench|cost] [--format table|csv|json]`."""
    due = commands.add_parser("due", help="list what is late, due, or due within seven days")
    due.add_argument("--on", metavar="D", default="", help="as of this day (default: today)")
    due.add_argument(
        "--order", choices=ORDERS, default="bench",
        help="as they stand, or first where rooted ones have stood longest (default: bench)",
    )  # fmt: skip
    due.add_argument("--format", choices=FORMATS, default="table", help="default: table")


def run(args: argparse.Namespace, context: Context) -> int:
    """Write the list and return 0.

    Raises:
        NotAccepted: the day is none.
    """
    database = context.open_database()
    learn_or_remark(context, database=database)
    with database.reading() as session:
        today = local_date(context.clock.now(), zone=get_nursery(session).zone)
        on = parse_day(args.on, today=today, field="on", ahead=True) if args.on else today
        due = list_due(session, on=on, most=_EVERYTHING)
    database.close()
    if args.format == "table":
        lines = _table(due, by_cost=args.order == "cost")
    else:
        writers = {"csv": _csv, "json": _json}
        lines = writers[args.format](_ordered(due, by_cost=args.order == "cost"), on)
    for line in lines:
        context.say(line)
    return 0


def _ordered(due: DueList, *, by_cost: bool) -> tuple[DueBatch, ...]:
    if not by_cost:
        return due.batches
    return tuple(batch for state in DueState for batch in due.costs_most_first(state))


def _table(due: DueList, *, by_cost: bool) -> Iterator[str]:
    heading = today_heading(late=due.late, due_today=due.due_today)
    yield f"{heading}. {day_long(due.on)}."
    for title, batches in _parts(due, by_cost=by_cost):
        yield ""
        yield title
        rows = [_cells(batch, on=due.on, with_bench=by_cost) for batch in batches]
        widths = [max(len(row[place]) for row in rows) for place in range(len(rows[0]))]
        for row in rows:
            padded = (cell.ljust(width) for cell, width in zip(row, widths, strict=True))
            yield f"  {'  '.join(padded)}".rstrip()


def _parts(due: DueList, *, by_cost: bool) -> Iterator[tuple[str, tuple[DueBatch, ...]]]:
    """Give each part of the list under its title: benches, or late, due and coming."""
    if by_cost:
        for state in DueState:
            batches = due.costs_most_first(state)
            if batches:
                yield f"{state.value.capitalize()}, {batch_count(len(batches))}", batches
        return
    for bench in due.benches:
        late, due_today, coming = (
            bench.number(state) for state in (DueState.LATE, DueState.DUE_TODAY, DueState.COMING)
        )
        summary = bench_summary(late=late, due_today=due_today, coming=coming)
        yield f"{bench.name}, {summary}", bench.batches


def _cells(batch: DueBatch, *, on: date, with_bench: bool) -> tuple[str, ...]:
    standing = batch.standing
    counts = f"{standing.rooted:,} rooted, {standing.unrooted:,} unrooted, {standing.lost:,} lost"
    urgent = f"URGENT: {'; '.join(batch.urgent)}" if batch.urgent else ""
    basis = f" ({batch.basis})" if batch.basis else ""
    said = "; ".join(part for part in (urgent, f"{batch.expect}{basis}") if part)
    when = lateness(batch.due_on, today=on, late=batch.state is DueState.LATE)
    bench = (batch.bench or NO_BENCH.lower(),) if with_bench else ()
    return (batch.code, batch.plant, *bench, when, counts, said)


def _csv(batches: tuple[DueBatch, ...], on: date) -> Iterator[str]:
    rows = (tuple(_record(batch, on=on).values()) for batch in batches)
    written = b"".join(csv_chunks([COLUMNS, *rows], mark=False)).decode()
    # The terminal, or the file it is sent to, ends lines in its own way.
    yield from written.removesuffix("\r\n").split("\r\n")


def _json(batches: tuple[DueBatch, ...], on: date) -> Iterator[str]:
    records = [_record(batch, on=on) for batch in batches]
    yield json.dumps(records, ensure_ascii=False, indent=2)


def _record(batch: DueBatch, *, on: date) -> dict[str, Value]:
    standing, outlook = batch.standing, batch.outlook
    known = (
        (outlook.new_on(on), outlook.ever, round(outlook.cost_on(on), 2), int(outlook.finish))
        if outlook
        else (None, None, None, None)
    )
    values = (
        batch.code,
        batch.plant,
        batch.bench,
        batch.state.value,
        batch.due_on.isoformat(),
        batch.late_on.isoformat(),
        batch.next_look_on.isoformat(),
        batch.next_count_on.isoformat(),
        batch.stuck_on.isoformat(),
        batch.age_days,
        standing.stuck,
        standing.rooted,
        standing.lost,
        standing.unrooted,
        "; ".join(batch.urgent),
        batch.expect,
        *known,
        batch.basis,
    )
    return dict(zip(COLUMNS, values, strict=True))
