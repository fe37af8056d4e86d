"""The files of photographs: each is named by the SHA-256 of what it holds, and never changed.

A file is on disk before the log says that it exists. One that the log does not name, because
saving was refused after all, harms nothing and takes its place if the same picture is sent again.
"""

import hashlib
import os
import sqlite3
from collections.abc import Iterable, Iterator, Mapping
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path
from tempfile import mkstemp
from typing import BinaryIO, Final

from app.settings import FOLDER_MODE

ENDING: Final = ".jpg"
_PIECE: Final = 256 * 1024


@dataclass(frozen=True, kw_only=True)
class CopiedFiles:
    """What became of copying files: the names copied now, and those missing or changed."""

    copied: tuple[str, ...]
    missing: tuple[str, ...]


def photograph_path(folder: Path, *, sha256: str) -> Path:
    """Return where the file of this hash lies in a folder of photographs."""
    return folder / f"{sha256}{ENDING}"


def put_photograph_file(folder: Path, *, content: BinaryIO, sha256: str) -> bool:
    """Put a file into a folder of photographs; it is on disk when this returns.

    Returns whether it was written now; one that is there already and whole stays.

    Raises:
        ValueError: the content is not what the hash says; nothing was kept.
    """
    path = photograph_path(folder, sha256=sha256)
    if is_whole(folder, sha256=sha256):
        return False
    folder.mkdir(mode=FOLDER_MODE, parents=True, exist_ok=True)
    # Such a file is readable for its owner only, whatever the rest of the PC is set to.
    descriptor, name = mkstemp(prefix=".", suffix=".part", dir=folder)
    part = Path(name)
    try:
        with os.fdopen(descriptor, "wb") as file:
            if _copied_hash(content, file) != sha256:
                raise ValueError(f"{path.name} is not what its name says")
            file.flush()
            os.fsync(file.fileno())
        part.replace(path)
    finally:
        part.unlink(missing_ok=True)
    if os.name == "posix":
        _folder_to_disk(folder)
    return True


def is_whole(folder: Path, *, sha256: str) -> bool:
    """Return whether the file is there and holds what its name says."""
    path = photograph_path(folder, sha256=sha256)
    if not path.is_file():
        return False
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest() == sha256


def named_files(database: Path) -> dict[str, int]:
    """Return the files that a database names, with their sizes in bytes.

    A database from before there were photographs names none.
    """
    with closing(sqlite3.connect(database)) as connection:
        connection.execute("PRAGMA query_only = ON")
        known = connection.execute("SELECT 1 FROM sqlite_master WHERE name = 'photographs'")
        if known.fetchone() is None:
            return {}
        rows = connection.execute(
            "SELECT sha256, size FROM photographs UNION SELECT small_sha256, small_size "
            "FROM photographs ORDER BY 1"
        )
        return {str(sha256): int(size) for sha256, size in rows}


def copy_photograph_files(names: Mapping[str, int], *, source: Path, target: Path) -> CopiedFiles:
    """Copy those files, given with their sizes, that the target does not hold yet.

    Whatever is missing or changed at the source is told and left out: it must not keep the rest
    from being copied. A file of the right size at the target is not read again.
    """
    copied, missing = [], []
    for sha256, size in names.items():
        path = photograph_path(target, sha256=sha256)
        if path.is_file() and path.stat().st_size == size:
            continue
        try:
            with photograph_path(source, sha256=sha256).open("rb") as content:
                put_photograph_file(target, content=content, sha256=sha256)
        except (FileNotFoundError, ValueError):
            missing.append(sha256)
        else:
            copied.append(sha256)
    return CopiedFiles(copied=tuple(copied), missing=tuple(missing))


def faulty_files(names: Iterable[str], *, folder: Path) -> Iterator[tuple[str, str]]:
    """Yield (hash, sentence) for each file that is missing or is not what its name says."""
    for sha256 in names:
        path = photograph_path(folder, sha256=sha256)
        if not path.is_file():
            yield sha256, f"Its file {path.name} is missing."
        elif not is_whole(folder, sha256=sha256):
            yield sha256, f"Its file {path.name} is not what was stored."


def _copied_hash(content: BinaryIO, file: BinaryIO) -> str:
    digest = hashlib.sha256()
    while piece := content.read(_PIECE):
        digest.update(piece)
        file.write(piece)
    return digest.hexdigest()


def _folder_to_disk(folder: Path) -> None:
    descriptor = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(descriptor)
    finally:
        os.close(descriptor)
