"""Sessions on the database, and the only commit."""

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from sqlalchemy.orm import Session

from app.store.engine import READS, WRITES, make_engine
from app.store.fair_lock import FairLock


def commit(session: Session) -> None:
    """Put on disk what the session holds. The one place that commits."""
    session.commit()


class Database:
    """One nursery's SQLite file: its engine and the fair lock of its writers."""

    def __init__(self, path: Path, *, journal: str | None = None) -> None:
        self.path = path
        self._lock = FairLock()
        self.engine = make_engine(path, lock=self._lock, journal=journal)
        self._writing_engine = self.engine.execution_options(**{WRITES: True})
        self._reading_engine = self.engine.execution_options(**{READS: True})

    def open_session(self, *, write: bool) -> Session:
        """Return a session whose transaction begins IMMEDIATE if `write`, else cannot write.

        The caller closes it, which rolls back what was not committed.
        """
        engine = self._writing_engine if write else self._reading_engine
        return Session(engine, autoflush=True, expire_on_commit=False)

    @contextmanager
    def reading(self) -> Iterator[Session]:
        """Give a session for reading; the database refuses whatever it would change."""
        session = self.open_session(write=False)
        try:
            yield session
        finally:
            session.close()

    @contextmanager
    def writing(self) -> Iterator[Session]:
        """Give a session for writing; committed when the block ends well, else rolled back."""
        session = self.open_session(write=True)
        try:
            yield session
            commit(session)
        finally:
            session.close()

    def close(self) -> None:
        """Close the connections that wait in the pool."""
        self.engine.dispose()
