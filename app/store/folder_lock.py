"""One program per data folder: a lock that the operating system lets go when the program ends."""

import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import IO

LOCK_NAME = "strikewell.lock"


class FolderInUse(Exception):
    """Another program has this data folder open."""


@contextmanager
def hold_folder(folder: Path) -> Iterator[None]:
    """Hold the data folder for the length of the block.

    The lock file stays behind; what counts is the lock on it, which ends with the program
    however it ends.

    Raises:
        FolderInUse: another program holds it.
    """
    with (folder / LOCK_NAME).open("a+b") as file:
        try:
            _lock(file)
        except OSError as error:
            raise FolderInUse(
                f"Strikewell is already running on {folder}. Use the one that runs, or stop it "
                "first (Ctrl+C in its window)."
            ) from error
        try:
            yield
        finally:
            _unlock(file)


if sys.platform == "win32":
    import msvcrt

    def _lock(file: IO[bytes]) -> None:
        file.seek(0)
        msvcrt.locking(file.fileno(), msvcrt.LK_NBLCK, 1)

    def _unlock(file: IO[bytes]) -> None:
        file.seek(0)
        msvcrt.locking(file.fileno(), msvcrt.LK_UNLCK, 1)

else:
    import fcntl

    def _lock(file: IO[bytes]) -> None:
        fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)

    def _unlock(file: IO[bytes]) -> None:
        fcntl.flock(file, fcntl.LOCK_UN)
