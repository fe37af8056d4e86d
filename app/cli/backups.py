"""The commands `backup` and `restore`."""

import argparse
from pathlib import Path

from app.cli.context import Context
from app.services.backups import restore_backup, write_backup
from app.store.folder_lock import hold_folder


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
        return 0
    with hold_folder(context.settings.data):
        aside = restore_backup(context.settings, file=args.file, now=now)
    context.say(f"The log is now the one of {args.file}.")
    if aside.is_file():
        context.say(f"The log as it was before: {aside}")
    return 0
