"""The command `plan`: which batch to stick in which week for many orders together."""

import argparse
import json
from collections.abc import Callable, Iterator
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Final

from sqlalchemy.orm import Session

from app.cli.context import CommandRefused, Context
from app.cli.learning import learn_or_remark
from app.clock import local_date
from app.formats.csv_sheets import csv_chunks
from app.formats.sheets import PAGE_ROWS, read_sheet
from app.services.orders import find_wanted_plant
from app.store.queries.fits import find_fit
from app.store.queries.nursery import get_nursery

if TYPE_CHECKING:
    from app.domain.season_answers import SeasonAnswer, SeasonLine, SeasonRoom, SeasonWish
    from app.store.queries.season_wishes import WishedPlants

FORMATS: Final = ("table", "csv", "json")
COLUMNS: Final = ("order", "plant", "week", "cuttings", "trays", "short", "limit")
_NUMBERS: Final = frozenset({"cuttings", "trays", "short"})


def add_parser(commands: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    """Add `plan [--orders FILE]` with the room there is and its formats."""
    plan = commands.add_parser(
        "plan",
        help="which batch to stick in which week for many orders",
        description="Which batch to stick in which week, and what cannot be met for which limit.",
    )
    plan.add_argument(
        "--orders", type=Path, metavar="FILE",
        help="a sheet of orders (default: the open orders of the log)",
    )  # fmt: skip
    plan.add_argument(
        "--trays", type=_whole, metavar="N",
        help="trays free in each week (default: the room on the benches now)",
    )  # fmt: skip
    plan.add_argument(
        "--per-tray", type=_whole, default=84, metavar="N", help="plugs in a tray (default: 84)"
    )
    plan.add_argument(
        "--labour", type=_whole, metavar="N",
        help="cuttings that can be stuck in a week (default: no limit)",
    )  # fmt: skip
    plan.add_argument("--format", choices=FORMATS, default="table", help="default: table")


def run(args: argparse.Namespace, context: Context) -> int:
    """Write the plan and return 0; orders that cannot be met are named in it.

    Raises:
        NotAccepted: the sheet of orders is wrong.
    """
    from app.domain.season_answers import plan_wishes  # noqa: PLC0415 - loads scipy

    database = context.open_database()
    try:
        learn_or_remark(context, database=database)
        with database.reading() as session:
            today = local_date(context.clock.now(), zone=get_nursery(session).zone)
            wishes = _wishes(session, args.orders, today=today)
            room = _room(session, args)
    finally:
        database.close()
    answer = plan_wishes(wishes, room=room, today=today)
    for line in _WRITERS[args.format](answer, room):
        context.say(line)
    return 0


def _wishes(session: Session, path: Path | None, *, today: date) -> "list[SeasonWish]":
    # All of these load numpy, which no other command should pay for.
    from app.store.queries.order_plans import read_plan_books  # noqa: PLC0415 - as said
    from app.store.queries.season_wishes import (  # noqa: PLC0415 - as said
        list_wished_orders,
        read_wish,
    )

    stored = find_fit(session)
    books = read_plan_books(session, fit=stored.fit if stored else None)
    wished = _from_sheet(session, path, today=today) if path else list_wished_orders(session)
    if not wished:
        raise CommandRefused("There is no open order to plan. Give a sheet with --orders FILE.")
    return [read_wish(session, books=books, wished=each, today=today) for each in wished]


def _from_sheet(session: Session, path: Path, *, today: date) -> "tuple[WishedPlants, ...]":
    from app.domain.order_plans import PlanAsked, PlanSubject  # noqa: PLC0415 - loads numpy
    from app.domain.order_sheets import read_order_lines  # noqa: PLC0415 - loads numpy
    from app.store.queries.season_wishes import WishedPlants  # noqa: PLC0415 - loads numpy

    sheet = read_sheet(path.read_bytes(), filename=path.name, row_limit=PAGE_ROWS)
    found = []
    for line in read_order_lines(sheet, today=today):
        named = find_wanted_plant(session, typed=line.plant)
        found.append(
            WishedPlants(
                name=f"line {line.number}",
                plant=named.plant,
                subject=PlanSubject(
                    genus_id=named.genus_id,
                    genus=named.genus,
                    species=named.species,
                    plant_name_id=named.plant_name_id,
                ),
                asked=PlanAsked(
                    plants=line.plants,
                    due_on=line.due_on,
                    sure_share=line.sure_share,
                    batches=line.batches,
                ),
                window_weeks=line.window_weeks,
            )
        )
    return tuple(found)


def _room(session: Session, args: argparse.Namespace) -> "SeasonRoom":
    from app.domain.season_answers import SeasonRoom  # noqa: PLC0415 - loads scipy
    from app.store.queries.season_wishes import free_trays  # noqa: PLC0415 - as above

    trays = free_trays(session) if args.trays is None else args.trays
    return SeasonRoom(trays=trays, labour=args.labour, per_tray=args.per_tray)


def _whole(text: str) -> int:
    if not text.isascii() or not text.isdigit() or int(text) == 0:
        raise argparse.ArgumentTypeError(f'"{text}" is no whole number above 0')
    return int(text)


def _record(line: "SeasonLine") -> dict[str, str | int | None]:
    return {name: getattr(line, name) for name in COLUMNS}


def _table(answer: "SeasonAnswer", room: "SeasonRoom") -> Iterator[str]:
    batches = [line for line in answer.lines if line.week_on]
    missing = [line for line in answer.lines if not line.week_on]
    number = sum(line.cuttings for line in batches)
    yield f"{len(batches):,} batches, {number:,} cuttings to stick."
    if batches:
        yield ""
        yield from _columns(batches, ("week", "plant", "cuttings", "trays", "order"))
    if missing:
        yield ""
        yield "Cannot be met in full:"
        yield from _columns(missing, ("plant", "short", "limit", "order"))
    yield ""
    trays = "no limit is known" if room.trays is None else f"{room.trays:,} trays free each week"
    yield f"Bench space: {trays}, {room.per_tray} plugs in a tray."
    yield "What stands on the benches now is taken to stay."
    if answer.stopped_early:
        yield "The search was stopped early."
    yield f"A longer search could save at most {answer.gap_share * 100:.1f} % of the plan's cost."


def _columns(lines: "list[SeasonLine]", names: tuple[str, ...]) -> Iterator[str]:
    rows = [names, *(tuple(_cell(getattr(line, name)) for name in names) for line in lines)]
    widths = [max(len(row[place]) for row in rows) for place in range(len(names))]
    for row in rows:
        cells = (
            cell.rjust(width) if name in _NUMBERS else cell.ljust(width)
            for cell, width, name in zip(row, widths, names, strict=True)
        )
        yield "  ".join(cells).rstrip()


def _cell(value: str | int | None) -> str:
    if value is None:
        return "-"
    return f"{value:,}" if isinstance(value, int) else value


def _csv(answer: "SeasonAnswer", _room: "SeasonRoom") -> Iterator[str]:
    rows = [COLUMNS, *(tuple(_record(line).values()) for line in answer.lines)]
    written = b"".join(csv_chunks(rows, mark=False)).decode()
    # The terminal, or the file it is sent to, ends lines in its own way.
    yield from written.removesuffix("\r\n").split("\r\n")


def _json(answer: "SeasonAnswer", _room: "SeasonRoom") -> Iterator[str]:
    records = [_record(line) for line in answer.lines]
    yield json.dumps(records, ensure_ascii=False, indent=2)


_WRITERS: Final[dict[str, Callable[["SeasonAnswer", "SeasonRoom"], Iterator[str]]]] = {
    "table": _table,
    "csv": _csv,
    "json": _json,
}
