"""Writing the whole-nursery archive: every table as a sheet, and the photographs, in one zip."""

import hashlib
import os
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import IO, Final, TypeAlias

from app.domain.archives import SheetSeal
from app.domain.problems import NotAccepted
from app.formats.archive_sheets import SheetWriter
from app.formats.archive_zips import (
    PACKAGE,
    ArchiveWriter,
    marks_path,
    photograph_part,
    sheet_path,
    writing_archive,
)
from app.formats.data_packages import Package, write_package
from app.services.archive_words import table_words
from app.settings import Settings
from app.store.archive_rows import iterate_rows, reading_file
from app.store.archive_tables import LEFT_OUT, list_tables
from app.store.backups import copy_database
from app.store.migrating import revision_of
from app.store.photograph_files import is_whole, named_files, photograph_path

PIECE: Final = 1024 * 1024
Say: TypeAlias = Callable[[str], object]


@dataclass(frozen=True, kw_only=True)
class Archived:
    """What stands in an archive.

    `content` is the SHA-256 in hexadecimal over all of it: the same for the same log.
    `unsound` are the hashes of photographs whose file is missing or changed; they are left out.
    """

    tables: int
    rows: int
    photographs: int
    content: str
    unsound: tuple[str, ...] = ()


def write_archive(settings: Settings, *, file: Path, say: Say = str) -> Archived:
    """Write the archive to a new file and return what is in it; others may be writing meanwhile.

    `say` is told how far it has come.

    Raises:
        NotAccepted: a file of that name is there already.
        BackupUnsound: there is no log, or it is damaged.
        NotCarried: a value in the log is damaged.
    """
    if file.exists():
        raise NotAccepted.at("file", f"{file} is there already. Give another name.")
    # Written beside the place and moved there once whole, so that no half archive is left behind.
    unfinished = file.with_name(f".{file.name}-unfinished")
    try:
        with unfinished.open("wb") as target:
            archived = pack_archive(settings, target=target, say=say)
            target.flush()
            os.fsync(target.fileno())
        unfinished.replace(file)
    finally:
        unfinished.unlink(missing_ok=True)
    return archived


def pack_archive(settings: Settings, *, target: IO[bytes], say: Say = str) -> Archived:
    """Write the archive into an open file and return what is in it.

    All of it is of one moment: it is read from a copy, so that no writer waits for it.

    Raises:
        BackupUnsound: there is no log, or it is damaged.
        NotCarried: a value in the log is damaged.
    """
    with TemporaryDirectory() as folder:
        copy = Path(folder) / "copy.db"
        copy_database(settings.database_path, target=copy)
        with writing_archive(target) as archive:
            return _pack(archive, copy=copy, photographs=settings.photographs, say=say)


def archived_words() -> dict[str, str]:
    """Return what each sheet of an archive holds, in words, by the table's name."""
    return {
        table: words.description
        for table, words in sorted(table_words().items())
        if table not in LEFT_OUT
    }


def left_out_words() -> dict[str, str]:
    """Return why each table that is not carried, and passwords, are left out."""
    tables = {table: why for table, why in LEFT_OUT.items() if table in table_words()}
    return tables | {"passwords": "what is only good for getting in does not leave the log"}


def content_of(seals: Iterable[SheetSeal], *, photographs: Iterable[str]) -> str:
    """Return the SHA-256 in hexadecimal over all sheets, by name, and all photographs.

    A photograph is told by the hash of its bytes.
    """
    digest = hashlib.sha256()
    for seal in sorted(seals, key=lambda seal: seal.table):
        digest.update(f"{seal.table} {seal.sha256}\n".encode())
    for sha256 in sorted(photographs):
        digest.update(f"photograph {sha256}\n".encode())
    return digest.hexdigest()


def seal_tables(path: Path) -> tuple[SheetSeal, ...]:
    """Return the seal of each table of a database file, as an archive of it would have."""
    seals = []
    with reading_file(path) as connection:
        for table in list_tables(connection):
            writer = SheetWriter(table)
            for _ in writer.pieces(iterate_rows(connection, table=table)):
                pass
            seals.append(writer.seal)
    return tuple(seals)


def _pack(archive: ArchiveWriter, *, copy: Path, photographs: Path, say: Say) -> Archived:
    with reading_file(copy) as connection:
        tables = list_tables(connection)
        seals = {}
        for table in tables:
            say(f"Writing {table.name}.")
            writer = SheetWriter(table)
            archive.write(
                sheet_path(table.name), writer.pieces(iterate_rows(connection, table=table))
            )
            archive.write(marks_path(table.name), [writer.marks])
            seals[table.name] = writer.seal
    named = sorted(named_files(copy))
    sound = tuple(sha256 for sha256 in named if is_whole(photographs, sha256=sha256))
    for number, sha256 in enumerate(sound, start=1):
        say(f"Writing photograph {number:,} of {len(sound):,}.")
        pieces = _bytes_of(photograph_path(photographs, sha256=sha256))
        archive.write(photograph_part(sha256), pieces, packed=False)
    content = content_of(seals.values(), photographs=sound)
    package = Package(
        revision=revision_of(copy) or "",
        content=content,
        photographs=len(sound),
        seals=seals,
    )
    archive.write(PACKAGE, [write_package(package, tables=tables, words=table_words())])
    return Archived(
        tables=len(tables),
        rows=sum(seal.rows for seal in seals.values()),
        photographs=len(sound),
        content=content,
        unsound=tuple(sha256 for sha256 in named if sha256 not in sound),
    )


def _bytes_of(path: Path) -> Iterator[bytes]:
    with path.open("rb") as file:
        while piece := file.read(PIECE):
            yield piece
