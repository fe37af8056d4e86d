"""What every command is handed: settings, clock, database and where to write."""

from dataclasses import dataclass
from typing import TextIO

from app.clock import Clock
from app.services.databases import prepare_database
from app.settings import Settings
from app.store.folder_lock import hold_folder
from app.store.migrating import needs_migration
from app.store.session import Database


class CommandRefused(Exception):
    """Why a command did not do what was asked, in a sentence for the person at the keyboard."""


@dataclass(frozen=True, kw_only=True)
class Context:
    """The surroundings of one command; tests hand in their own."""

    settings: Settings
    clock: Clock
    out: TextIO
    err: TextIO

    def say(self, line: str = "") -> None:
        """Write one line of the answer."""
        print(line, file=self.out, flush=True)

    def remark(self, line: str) -> None:
        """Write one line beside the answer, such as progress or a warning."""
        print(line, file=self.err, flush=True)

    def open_database(self) -> Database:
        """Return the folder's database, made or brought up to date if need be.

        Raises:
            DatabaseIsNewer: a newer program wrote it.
            FolderInUse: it is out of date and another program has the folder open.
            NotALog: the file is not a log of this program.
        """
        path = self.settings.database_path
        if needs_migration(path):
            with hold_folder(self.settings.data):
                prepare_database(self.settings, now=self.clock.now())
        return Database(path)
