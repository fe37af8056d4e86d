"""The command `due`: what wants a look, by bench, as a table, CSV or JSON."""

import argparse
import json
from collections.abc import Iterator
from datetime import date
from typing import Final

from app.cli.context import Context
from app.clock import local_date
from app.domain.days import day_long, lateness, parse_day
from app.domain.due import DueState, bench_summary, today_heading
from app.formats.csv_sheets import csv_chunks
from app.store.queries.nursery import get_nursery
from app.store.queries.today import DueBatch, DueList, list_due

FORMATS: Final = ("table", "csv", "json")
COLUMNS: Final = (
    "batch", "plant", "bench", "state", "due_on", "next_look_on", "next_count_on", "stuck_on",
    "age_days", "stuck", "rooted", "lost", "unrooted", "urgent", "expect",
)  # fmt: skip
_EVERYTHING: Final = 1_000_000


def add_parser(commands: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    """Add `due [--on D] [--format table|csv|json]`."""
    due = commands.add_parser("due", help="list what is late, due, or due within seven days")
    due.add_argument("--on", metavar="D", default="", help="as of this day (default: today)")
    due.add_argument("--format", choices=FORMATS, default="table", help="default: table")


def run(args: argparse.Namespace, context: Context) -> int:
    """Write the list and return 0.

    Raises:
        NotAccepted: the day is none.
    """
    database = context.open_database()
    with database.reading() as session:
        today = local_date(context.clock.now(), zone=get_nursery(session).zone)
        on = parse_day(args.on, today=today, field="on", ahead=True) if args.on else today
        due = list_due(session, on=on, most=_EVERYTHING)
    database.close()
    writers = {"table": _table, "csv": _csv, "json": _json}
    for line in writers[args.format](due):
        context.say(line)
    return 0


def _table(due: DueList) -> Iterator[str]:
    heading = today_heading(late=due.late, due_today=due.due_today)
    yield f"{heading}. {day_long(due.on)}."
    for bench in due.benches:
        late, due_today, coming = (
            bench.number(state) for state in (DueState.LATE, DueState.DUE_TODAY, DueState.COMING)
        )
        summary = bench_summary(late=late, due_today=due_today, coming=coming)
        yield ""
        yield f"{bench.name}, {summary}"
        rows = [_cells(batch, on=due.on) for batch in bench.batches]
        widths = [max(len(row[place]) for row in rows) for place in range(len(rows[0]))]
        for row in rows:
            padded = (cell.ljust(width) for cell, width in zip(row, widths, strict=True))
            yield f"  {'  '.join(padded)}".rstrip()


def _cells(batch: DueBatch, *, on: date) -> tuple[str, ...]:
    standing = batch.standing
    counts = f"{standing.rooted:,} rooted, {standing.unrooted:,} unrooted, {standing.lost:,} lost"
    urgent = f"URGENT: {'; '.join(batch.urgent)}" if batch.urgent else ""
    said = "; ".join(part for part in (urgent, batch.expect) if part)
    return (batch.code, batch.plant, lateness(batch.due_on, today=on), counts, said)


def _csv(due: DueList) -> Iterator[str]:
    rows = (tuple(record.values()) for record in _records(due))
    written = b"".join(csv_chunks([COLUMNS, *rows], mark=False)).decode()
    # The terminal, or the file it is sent to, ends lines in its own way.
    yield from written.removesuffix("\r\n").split("\r\n")


def _json(due: DueList) -> Iterator[str]:
    yield json.dumps(list(_records(due)), ensure_ascii=False, indent=2)


def _records(due: DueList) -> Iterator[dict[str, str | int]]:
    for bench in due.benches:
        for batch in bench.batches:
            standing = batch.standing
            values = (
                batch.code,
                batch.plant,
                batch.bench,
                batch.state.value,
                batch.due_on.isoformat(),
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
            )
            yield dict(zip(COLUMNS, values, strict=True))
