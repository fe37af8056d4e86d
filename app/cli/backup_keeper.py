"""While the log is served: the regular backups and what the batches teach, each by a thread.

What was learned is made anew here, so that whoever opens a page seldom waits for it; whatever
happens to that, backups go on.
"""

import threading
from collections.abc import Callable
from typing import Final

from app.cli.context import Context
from app.cli.learning import learn_or_remark, watch_or_remark
from app.clock import local_date
from app.services.backups import keep_regular_backups
from app.store.backups import BackupUnsound
from app.store.queries.nursery import get_nursery
from app.store.session import Database

LOOK_EVERY_S: Final = 600.0


class BackupKeeper:
    """Makes the day's backup soon after the start and after each midnight of the nursery.

    At the same looks, ten minutes apart, it learns from the batches if they changed.
    """

    def __init__(self, context: Context, database: Database) -> None:
        self._context = context
        self._database = database
        self._ended = threading.Event()
        self._threads = tuple(
            threading.Thread(target=self._keep, args=(work,), name=name, daemon=True)
            for name, work in (("backups", self.keep_once), ("learning", self.learn_once))
        )

    def start(self) -> None:
        """Begin to look, now and every ten minutes."""
        for thread in self._threads:
            thread.start()

    def stop(self) -> None:
        """End, after a backup that is being made, and what is being learned."""
        self._ended.set()
        for thread in self._threads:
            if thread.is_alive():
                thread.join()

    def keep_once(self) -> None:
        """Make the backups that are missing; a failure is told and tried again at the next look."""
        now = self._context.clock.now()
        with self._database.reading() as session:
            zone = get_nursery(session).zone
        try:
            keep_regular_backups(self._context.settings, today=local_date(now, zone=zone), now=now)
        except (BackupUnsound, OSError) as error:
            self._context.remark(f"No backup could be made: {error}")

    def learn_once(self) -> None:
        """Learn anew if the batches changed, and work out how the open orders stand.

        A failure is told and tried again at the next look.
        """
        learn_or_remark(self._context, database=self._database)
        watch_or_remark(self._context, database=self._database)

    def _keep(self, work: Callable[[], None]) -> None:
        while not self._ended.is_set():
            work()
            self._ended.wait(LOOK_EVERY_S)
