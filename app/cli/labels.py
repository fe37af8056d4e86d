"""The command `labels`: writes labels as a PDF, or lists the sheets that are known."""

import argparse
from pathlib import Path
from typing import Final

from sqlalchemy.orm import Session

from app.cli.context import CommandRefused, Context
from app.cli.progress import Progress
from app.cli.serve import PORT
from app.domain.label_codes import read_codes
from app.domain.label_sheets import SHEETS, LabelSheet, parse_sheet
from app.domain.labels import Label, accepted_address, labels_of
from app.network import own_addresses
from app.store.queries.labels import KINDS, get_label_address, list_label_texts

_NO_ADDRESS: Final = (
    "No address is set for labels: the codes lead to {address}. Set it on the page Labels, or say "
    "--address."
)


def add_parser(commands: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    """Add `labels KIND CODE... --sheet NAME --out FILE` and `labels --sheets`."""
    parser = commands.add_parser("labels", help="write labels as a PDF, or list the sheets")
    parser.add_argument(
        "kind", metavar="KIND", nargs="?", choices=list(KINDS), help=", ".join(KINDS)
    )
    parser.add_argument(
        "codes", metavar="CODE", nargs="*", help='such as 26-0147, or "26-0101 to 26-0140"'
    )
    parser.add_argument("--sheets", action="store_true", help="list the sheets and their measures")
    parser.add_argument(
        "--sheet", metavar="NAME", default=SHEETS[0].name,
        help=f'a sheet of the list, or own measures such as "62 x 29" (default: {SHEETS[0].name})',
    )  # fmt: skip
    parser.add_argument("--out", type=Path, metavar="FILE", help="a new .pdf file")
    parser.add_argument(
        "--start", type=int, default=1, metavar="N", help="the first free place (default: 1)"
    )
    parser.add_argument(
        "--each", type=int, default=1, metavar="N", help="labels of each (default: 1)"
    )
    parser.add_argument(
        "--per-tray", action="store_true", help='one for each tray, saying "1 of 7"'
    )
    parser.add_argument(
        "--address", metavar="URL", default="", help="where the codes lead (default: as set)"
    )


def run(args: argparse.Namespace, context: Context) -> int:
    """Write the labels, or list the sheets, and say what was done.

    Raises:
        CommandRefused: something is left out, or the file is there already.
        NotAccepted: a code, the sheet, the start or the address is none.
    """
    if args.sheets:
        for sheet in SHEETS:
            context.say(f"{sheet.name}: {sheet.words}.")
        return 0
    target = _target(args)
    sheet = parse_sheet(args.sheet)
    labels = _labels(args, context)
    # Drawing loads the library for it, which no other command pays for.
    from app.formats.labels import check_start, write_labels  # noqa: PLC0415 - see above

    check_start(args.start, sheet=sheet)
    progress = Progress(context.remark)

    def told(number: int) -> None:
        progress(f"Drew {number:,} of {len(labels):,} labels.")

    _write(write_labels(labels, sheet=sheet, start=args.start, told=told), target=target)
    context.say(f"{target}: {_counted(len(labels), 'label')} on {_pages(labels, args, sheet)}.")
    return 0


def _target(args: argparse.Namespace) -> Path:
    if args.kind is None or not args.codes or args.out is None:
        raise CommandRefused(
            "Say which labels, and where to: strikewell labels KIND CODE... --sheet NAME "
            "--out FILE. The sheets: strikewell labels --sheets."
        )
    target = Path(args.out)
    if target.exists():
        raise CommandRefused(f"{target} is there already. Give another name, or move it away.")
    return target


def _labels(args: argparse.Namespace, context: Context) -> tuple[Label, ...]:
    kind = KINDS[args.kind]
    codes = read_codes(",".join(args.codes), canonical=kind.canonical, spaced=kind.spaced)
    database = context.open_database()
    try:
        with database.reading() as session:
            texts = list_label_texts(session, kind=kind, codes=codes)
            base = _base(session, args=args, context=context)
    finally:
        database.close()
    if args.each < 1:
        raise CommandRefused("--each is 1 or more.")
    return labels_of(texts, base=base, each=args.each, per_tray=args.per_tray)


def _base(session: Session, *, args: argparse.Namespace, context: Context) -> str:
    if args.address:
        return accepted_address(args.address)
    if known := get_label_address(session).address:
        return known
    base = f"http://{(*own_addresses(), 'localhost')[0]}:{PORT}"
    context.remark(_NO_ADDRESS.format(address=base))
    return base


def _write(pdf: bytes, *, target: Path) -> None:
    """Write the file beside its place and move it there whole."""
    unfinished = target.with_name(f".{target.stem}-unfinished.pdf")
    try:
        unfinished.write_bytes(pdf)
        unfinished.replace(target)
    finally:
        unfinished.unlink(missing_ok=True)


def _pages(labels: tuple[Label, ...], args: argparse.Namespace, sheet: LabelSheet) -> str:
    return _counted(sheet.pages(len(labels), start=args.start), "page")


def _counted(number: int, word: str) -> str:
    return f"1 {word}" if number == 1 else f"{number:,} {word}s"
