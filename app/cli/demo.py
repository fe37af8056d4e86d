"""The command `demo`: opens the log of an invented nursery, to try everything on."""

import argparse
import os
import sys
import threading
import webbrowser
from collections.abc import Mapping
from dataclasses import replace
from datetime import date
from pathlib import Path
from shutil import rmtree
from typing import Final

from app.cli.context import CommandRefused, Context
from app.cli.serve import HERE, PORT, opened, port_number
from app.clock import local_date
from app.services.databases import prepare_database
from app.settings import default_data_folder
from app.store.folder_lock import hold_folder
from app.store.session import Database

# Beside the real log, so that both can be open at once.
DEMO_PORT: Final = PORT + 1
MARK: Final = "demo.txt"
_MAKING: Final = "making"


def add_parser(commands: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    """Add `demo [--fresh] [--port N] [--no-browser]`."""
    parser = commands.add_parser("demo", help="open the log of an invented nursery, to try it on")
    parser.add_argument("--fresh", action="store_true", help="tell it anew, up to today")
    parser.add_argument("--port", type=port_number, default=DEMO_PORT, metavar="N")
    parser.add_argument("--no-browser", action="store_true", help="do not open a browser")
    parser.set_defaults(default_folder=demo_folder())


def demo_folder() -> Path:
    """Return where the demo lies without `--data`: beside the real log, never in it."""
    folder = default_data_folder()
    return folder.with_name(f"{folder.name}-demo")


def run(args: argparse.Namespace, context: Context) -> int:
    """Make the demo unless it is there, say who can sign in, and serve it until Ctrl+C.

    Raises:
        CommandRefused: the folder holds a log that is not the demo.
    """
    with hold_folder(context.settings.data):
        told_on = _find_demo(context)
        if told_on is None or args.fresh:
            tell_demo(context)
        else:
            context.say(f"The demo told on {told_on}. For one up to today: strikewell demo --fresh")
        _say_who(context)
        with opened(context, port=args.port) as server:
            if not args.no_browser and has_screen():
                _open_browser(f"http://{HERE}:{args.port}/")
            server.run()
    return 0


def tell_demo(context: Context) -> None:
    """Put the invented nursery's log into the folder, in place of the demo that was there."""
    # Only the demo pays for loading it.
    from seed_demo.places import NURSERY  # noqa: PLC0415 - see above
    from seed_demo.story import tell_story  # noqa: PLC0415 - see above

    now = context.clock.now()
    today = local_date(now, zone=NURSERY.zone)
    context.say("Telling two seasons of an invented nursery; this takes about a minute.")
    making = replace(context.settings, data=context.settings.data / _MAKING)
    rmtree(making.data, ignore_errors=True)
    making.data.mkdir(mode=0o700)
    prepare_database(making, now=now)
    database = Database(making.database_path)
    tell_story(database, today=today, progress=context.say)
    database.close()
    # The mark first: a log without it would be taken for a real one, and never replaced.
    mark = context.settings.data / MARK
    mark.write_text(f"{today}\nEverything in this folder is invented.\n", encoding="utf-8")
    rmtree(context.settings.photographs, ignore_errors=True)
    if making.photographs.is_dir():
        making.photographs.replace(context.settings.photographs)
    making.database_path.replace(context.settings.database_path)
    rmtree(making.data)


def has_screen(environ: Mapping[str, str] = os.environ, *, platform: str = sys.platform) -> bool:
    """Return whether a browser with a window can be opened from here."""
    if platform in {"win32", "darwin"}:
        return True
    return bool(environ.get("DISPLAY") or environ.get("WAYLAND_DISPLAY"))


def _find_demo(context: Context) -> date | None:
    mark = context.settings.data / MARK
    if not context.settings.database_path.exists():
        return None
    if not mark.is_file():
        raise CommandRefused(
            f"{context.settings.data} holds a log that is not the demo. Nothing was changed. "
            "Name another folder: strikewell --data FOLDER demo"
        )
    return date.fromisoformat(mark.read_text(encoding="utf-8").split("\n", maxsplit=1)[0])


def _say_who(context: Context) -> None:
    from seed_demo.places import SHOWN  # noqa: PLC0415 - as above

    context.say("Sign in as one of these; nursery, people and numbers are invented:")
    for person in SHOWN:
        context.say(f"  {person.role or '':8} {person.name:18} password: {person.password}")


def _open_browser(address: str) -> None:
    threading.Thread(target=webbrowser.open, args=(address,), daemon=True).start()
