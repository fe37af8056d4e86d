"""The command `trace`: where a stock plant or batch came from and all that was taken from it."""

import argparse
import json
from collections.abc import Iterator
from datetime import date
from typing import Final, TypeAlias

from app.cli.context import Context
from app.clock import local_date
from app.domain.days import day_short
from app.domain.line_words import generation_words
from app.store.queries.line_answers import Line, LineStep, get_line
from app.store.queries.lines import Way
from app.store.queries.nursery import get_nursery

FORMATS: Final = ("table", "json")
_TITLES: Final = {Way.UP: "Where it came from", Way.DOWN: "What was taken from it"}

Value: TypeAlias = str | int | bool | list[str] | None


def add_parser(commands: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    """Add `trace CODE [--up|--down] [--format table|json]`."""
    trace = commands.add_parser("trace", help="follow the line of a stock plant or batch")
    trace.add_argument("code", metavar="CODE", help="such as S-0031 or 26-0147")
    way = trace.add_mutually_exclusive_group()
    way.add_argument("--up", action="store_true", help="only where it came from")
    way.add_argument("--down", action="store_true", help="only what was taken from it")
    trace.add_argument("--format", choices=FORMATS, default="table", help="default: table")


def run(args: argparse.Namespace, context: Context) -> int:
    """Write the line and return 0.

    Raises:
        NotFound: no stock plant and no batch has the code.
    """
    database = context.open_database()
    with database.reading() as session:
        today = local_date(context.clock.now(), zone=get_nursery(session).zone)
        line = get_line(session, code=args.code, on=today)
    database.close()
    ways = [way for way in Way if not (args.up or args.down) or vars(args)[way.value]]
    if args.format == "json":
        found = [_record(step, way=way) for way in ways for step in _steps(line, way=way)]
        context.say(json.dumps(found, ensure_ascii=False, indent=2))
        return 0
    start = line.start
    context.say(f"{start.code} {start.plant}, {generation_words(line.generation)}")
    for way in ways:
        context.say(f"\n{_TITLES[way]}")
        for row in _table(_steps(line, way=way), today=today):
            context.say(row)
    return 0


def _steps(line: Line, *, way: Way) -> tuple[LineStep, ...]:
    return line.up if way is Way.UP else line.down


def _table(steps: tuple[LineStep, ...], *, today: date) -> Iterator[str]:
    if not steps:
        yield "  nothing recorded"
    for step in steps:
        known = step.known
        said = [f"{'  ' * step.depth}{known.code} {known.plant}"]
        if step.told_before:
            said.append("(above already)")
        else:
            said += [words for words in _standing(step, today=today) if words]
        yield "; ".join(said)


def _standing(step: LineStep, *, today: date) -> Iterator[str]:
    known = step.known
    yield day_short(known.on, today=today) if known.on else ""
    if known.standing:
        again = " again" if known.restuck else ""
        yield (
            f"{known.number:,} stuck{again}, {known.standing.rooted:,} rooted, "
            f"{known.standing.unrooted:,} unrooted"
        )
    else:
        yield f"{'1 plant' if known.number == 1 else f'{known.number:,} plants'}, {known.state}"
    yield (", ".join(known.benches) or "no bench recorded") if known.is_here else "nothing left"


def _record(step: LineStep, *, way: Way) -> dict[str, Value]:
    known = step.known
    return {
        "way": way.value,
        "step": step.depth,
        "generation": step.generation,
        "kind": known.member.kind.value,
        "code": known.code,
        "plant": known.plant,
        "on": known.on.isoformat() if known.on else None,
        "number": known.number,
        "rooted": known.standing.rooted if known.standing else None,
        "unrooted": known.standing.unrooted if known.standing else None,
        "state": known.state,
        "benches": list(known.benches),
        "is_here": known.is_here,
        "told_before": step.told_before,
    }
