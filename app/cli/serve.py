"""The command `serve`: opens the log to browsers, on this PC or on the local network."""

import argparse
import signal
import sys
import threading
from contextlib import contextmanager
from dataclasses import replace
from types import FrameType
from typing import TYPE_CHECKING, Final

from app.cli.backup_keeper import BackupKeeper
from app.cli.context import CommandRefused, Context
from app.services.databases import prepare_database
from app.services.one_time_codes import make_first_code
from app.store.folder_lock import hold_folder
from app.store.session import Database

if TYPE_CHECKING:
    from collections.abc import Iterator

    from flask import Flask
    from waitress.server import BaseWSGIServer, MultiSocketServer

PORT: Final = 8321
HERE: Final = "127.0.0.1"
EVERYWHERE: Final = "0.0.0.0"  # noqa: S104 - only where --lan asks for it
_THREADS: Final = 8
# Before a request's size is looked at by route, nothing larger than this is taken in at all.
_LARGEST_REQUEST: Final = 16 * 1024 * 1024
_HIGHEST_PORT: Final = 65_535


def add_parser(commands: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    """Add `serve [--lan] [--port N]`."""
    parser = commands.add_parser("serve", help="open the log to browsers until stopped")
    parser.add_argument(
        "--lan", action="store_true", help="also for other devices on the local network"
    )
    parser.add_argument("--port", type=port_number, default=PORT, metavar="N")


def port_number(text: str) -> int:
    """Return the port typed on the command line.

    Raises:
        ValueError: it is no number from 1 to 65535.
    """
    if not 1 <= int(text) <= _HIGHEST_PORT:
        raise ValueError(text)
    return int(text)


def run(args: argparse.Namespace, context: Context) -> int:
    """Serve until Ctrl+C."""
    context = replace(context, settings=replace(context.settings, lan=args.lan))
    with hold_folder(context.settings.data), opened(context, port=args.port) as server:
        server.run()
    return 0


@contextmanager
def opened(context: Context, *, port: int) -> "Iterator[BaseWSGIServer | MultiSocketServer]":
    """Give a server that listens, its addresses told; backups are kept while the block lasts.

    The caller holds the folder.

    Raises:
        CommandRefused: the port is taken.
    """
    prepare_database(context.settings, now=context.clock.now())
    database = Database(context.settings.database_path)
    # The web layer is only needed once something is served.
    from app import create_app  # noqa: PLC0415 - see above

    app = create_app(context.settings, clock=context.clock)
    server = listen(app, host=EVERYWHERE if context.settings.lan else HERE, port=port)
    keeper = BackupKeeper(context, database)
    try:
        _tell_addresses(context, app, port)
        _tell_first_code(context, database, port)
        keeper.start()
        _stop_on_terminate()
        yield server
    finally:
        keeper.stop()
        server.close()
        database.close()


def listen(app: "Flask", *, host: str, port: int) -> "BaseWSGIServer | MultiSocketServer":
    """Return a server that listens at the address; its `run` answers until it is closed.

    Raises:
        CommandRefused: the port is taken.
    """
    from waitress import create_server  # noqa: PLC0415 - only serving needs it

    try:
        return create_server(
            app,
            host=host,
            port=port,
            threads=_THREADS,
            ident=None,
            max_request_body_size=_LARGEST_REQUEST,
        )
    except OSError as error:
        raise CommandRefused(
            f"Nothing could be opened at port {port} ({error.strerror}). If another program uses "
            "it, choose a different one with --port N."
        ) from error


def _tell_addresses(context: Context, app: "Flask", port: int) -> None:
    context.say(f"Strikewell is open at http://{HERE}:{port}/")
    if context.settings.lan:
        for host in app.config["TRUSTED_HOSTS"]:
            if host not in {HERE, "localhost"}:
                context.say(f"On the local network: http://{host}:{port}/")
    context.say(f"The log lies in {context.settings.data}. Stop with Ctrl+C.")


def _tell_first_code(context: Context, database: Database, port: int) -> None:
    with database.writing() as session:
        code = make_first_code(session, now=context.clock.now())
    if code is not None:
        context.say("Nobody can sign in yet. Whoever leads the propagation unit begins here, with")
        context.say(f"this code, within the hour: {code}  http://{HERE}:{port}/first-start")


def _stop_on_terminate() -> None:
    """Let a polite request to end (a shutdown of the PC) end the server as Ctrl+C does."""

    def stop(_number: int, _frame: FrameType | None) -> None:
        sys.exit(0)

    if threading.current_thread() is threading.main_thread():
        signal.signal(signal.SIGTERM, stop)
