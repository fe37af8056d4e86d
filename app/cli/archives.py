"""The commands `archive` and `unarchive`: the whole nursery as one zip of sheets, and back."""

import argparse
from pathlib import Path

from app.cli.context import Context
from app.cli.progress import Progress
from app.services.archives import Archived, write_archive
from app.services.unarchives import read_archive
from app.store.folder_lock import hold_folder


def add_parser(commands: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    """Add `archive FILE` and `unarchive FILE`."""
    archive = commands.add_parser(
        "archive", help="write everything as sheets and photographs into one zip"
    )
    archive.add_argument("file", type=Path, metavar="FILE", help="a new .zip file")
    unarchive = commands.add_parser("unarchive", help="read an archive into an empty nursery")
    unarchive.add_argument("file", type=Path, metavar="FILE", help="a file made by archive")


def run(args: argparse.Namespace, context: Context) -> int:
    """Write or read back an archive and say what it holds; 1 if a photograph was damaged."""
    progress = Progress(context.remark)
    if args.command == "archive":
        context.open_database().close()
        archived = write_archive(context.settings, file=args.file, say=progress)
        context.say(f"{args.file}: {_told(archived)}")
        context.say(f"Content: sha256:{archived.content}")
        for sha256 in archived.unsound:
            context.remark(
                f"The photograph {sha256} is missing or damaged on the disk and was left out."
            )
        return 1 if archived.unsound else 0
    with hold_folder(context.settings.data):
        now = context.clock.now()
        read = read_archive(context.settings, file=args.file, now=now, say=progress)
    context.say(f"The log is now the one of {args.file}: {_told(read.archived)}")
    context.say(f"Content: sha256:{read.archived.content}")
    if read.aside.is_file():
        context.say(f"The empty log as it was before: {read.aside}")
    for sha256 in read.missing:
        context.remark(f"The log names the photograph {sha256}, which the archive does not hold.")
    context.say(
        "Passwords are not in an archive. For each person who signs in: strikewell new-code NAME"
    )
    return 0


def _told(archived: Archived) -> str:
    return (
        f"{archived.tables} sheets, {archived.rows:,} rows, {archived.photographs:,} photographs."
    )
