"""While the log is served: the regular backups, made by a thread of their own."""

import threading
from typing import Final

from app.cli.context import Context
from app.clock import local_date
from app.services.backups import keep_regular_backups
from app.store.backups import BackupUnsound
from app.store.queries.nursery import get_nursery
from app.store.session import Database

LOOK_EVERY_S: Final = 600.0


class BackupKeeper:
    """Makes the day's backup soon after the start and after each midnight of the nursery."""

    def __init__(self, context: Context, database: Database) -> None:
        self._context = context
        self._database = database
        self._ended = threading.Event()
        self._thread = threading.Thread(target=self._keep, name="backups", daemon=True)

    def start(self) -> None:
        """Begin to look, now and every ten minutes."""
        self._thread.start()

    def stop(self) -> None:
        """End, after a backup that is being made."""
        self._ended.set()
        if self._thread.is_alive():
            self._thread.join()

    def keep_once(self) -> None:
        """Make the backups that are missing; a failure is told and tried again at the next look."""
        now = self._context.clock.now()
        with self._database.reading() as session:
            zone = get_nursery(session).zone
        try:
            keep_regular_backups(self._context.settings, today=local_date(now, zone=zone), now=now)
        except (BackupUnsound, OSError) as error:
            self._context.remark(f"No backup could be made: {error}")

    def _keep(self) -> None:
        while not self._ended.is_set():
            self.keep_once()
            self._ended.wait(LOOK_EVERY_S)
