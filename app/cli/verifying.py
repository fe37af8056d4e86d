"""The command `verify`: looks the log over and says what does not agree."""

import argparse
from pathlib import Path
from tempfile import TemporaryDirectory

from app.cli.context import Context
from app.services.photographs import photograph_faults
from app.services.verifying import verify_log
from app.store.backups import copy_database
from app.store.session import Database


def add_parser(commands: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    """Add `verify`."""
    commands.add_parser(
        "verify", help="work every derived figure out again, walk the history, compare"
    )


def run(args: argparse.Namespace, context: Context) -> int:  # noqa: ARG001 - it takes no words
    """Print what differs, one line each; 1 if anything does."""
    context.open_database().close()
    found = 0
    # A copy of one moment: the log can be written meanwhile, and no writer waits for us.
    with TemporaryDirectory() as folder:
        copy = Path(folder) / "copy.db"
        copy_database(context.settings.database_path, target=copy)
        database = Database(copy)
        with database.reading() as session:
            for finding in verify_log(session):
                found += 1
                context.say(f"{finding.record}: {finding.sentence}")
            for record, sentence in photograph_faults(session, folder=context.settings.photographs):
                found += 1
                context.say(f"{record}: {sentence}")
        database.close()
    if found:
        context.remark(f"{found} things do not agree. Nothing was changed.")
        return 1
    context.say("Every figure agrees with the checks, and the history is whole.")
    return 0
