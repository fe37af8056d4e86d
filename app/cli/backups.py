"""The commands `backup` and `restore`."""

import argparse
from pathlib import Path

from app.cli.context import Context
from app.services.backups import (
    beside_backup,
    bring_photographs,
    copy_photographs,
    restore_backup,
    write_backup,
)
from app.store.folder_lock import hold_folder
from app.store.photograph_files import CopiedFiles


def add_parser(commands: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    """Add `backup FILE` and `restore FILE`."""
    backup = commands.add_parser("backup", help="copy the log to a file, also while it is in use")
    backup.add_argument("file", type=Path, metavar="FILE", help="a new file, or a folder")
    restore = commands.add_parser("restore", help="put a backup in the place of the log")
    restore.add_argument("file", type=Path, metavar="FILE", help="a file made by backup")


def run(args: argparse.Namespace, context: Context) -> int:
    """Make or put back a backup and say where it is."""
    now = context.clock.now()
    if args.command == "backup":
        made = write_backup(context.settings, file=args.file, now=now)
        context.say(f"The log is backed up, and the copy was checked: {made}")
        return _tell_photographs(
            context, copy_photographs(context.settings, backup=made), file=made
        )
    with hold_folder(context.settings.data):
        aside = restore_backup(context.settings, file=args.file, now=now)
        brought = bring_photographs(context.settings, file=args.file)
    context.say(f"The log is now the one of {args.file}.")
    if aside.is_file():
        context.say(f"The log as it was before: {aside}")
    if brought.copied:
        context.say(f"{len(brought.copied):,} files of photographs came with it.")
    if brought.missing:
        context.remark(
            f"{len(brought.missing):,} files of photographs are missing: put the folder "
            f"{beside_backup(args.file)} beside the backup and restore it again, or see which by "
            "strikewell verify."
        )
        return 1
    return 0


def _tell_photographs(context: Context, copied: CopiedFiles, *, file: Path) -> int:
    """Say where the photographs are that belong to a backup; 1 if some could not be copied."""
    if beside_backup(file).is_dir():
        context.say(f"Its photographs lie beside it, carry both: {beside_backup(file)}")
    if not copied.missing:
        return 0
    context.remark(
        f"{len(copied.missing):,} files of photographs are missing or damaged and were not copied. "
        "See which: strikewell verify."
    )
    return 1
