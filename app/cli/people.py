"""The command `new-code`: whoever sits at the PC itself can let somebody set a new password."""

import argparse

from app.cli.context import CommandRefused, Context
from app.domain.people import name_key
from app.services.one_time_codes import make_code
from app.store.queries.accounts import find_account_by_name


def add_parser(commands: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    """Add `new-code NAME`."""
    parser = commands.add_parser("new-code", help="make a one-time code for a new password")
    parser.add_argument("name", metavar="NAME", help="the person's name as it stands in the log")


def run(args: argparse.Namespace, context: Context) -> int:
    """Make a code for the person and show it, this once.

    Raises:
        CommandRefused: nobody of this name signs in.
        NotAccepted: the person was stopped from signing in.
    """
    database = context.open_database()
    try:
        with database.writing() as session:
            account = find_account_by_name(session, name_key=name_key(args.name))
            if account is None:
                raise CommandRefused(
                    f'Nobody called "{args.name}" signs in here. Type the name as it stands in '
                    "the log, in quotation marks if it has several words."
                )
            now = context.clock.now()
            code = make_code(session, actor=None, account_id=account.id, now=now)
    finally:
        database.close()
    context.say(f"One-time code for {account.actor.name}: {code}")
    context.say('It works once, within the hour: on the sign-in page, "I have a one-time code".')
    return 0
