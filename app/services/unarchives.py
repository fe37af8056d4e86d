"""Reading a whole-nursery archive back: into an empty nursery, exactly, or not at all."""

import shutil
from collections.abc import Generator, Sequence
from contextlib import closing
from dataclasses import dataclass, replace
from datetime import datetime
from itertools import islice
from pathlib import Path
from tempfile import TemporaryDirectory, TemporaryFile
from typing import Any, Final

from app.domain.archives import ArchivedTable
from app.domain.problems import NotAccepted
from app.formats.archive_sheets import SheetReader, SheetWrong
from app.formats.archive_zips import (
    ArchiveReader,
    marks_path,
    photograph_part,
    reading_archive,
    sheet_path,
)
from app.formats.data_packages import Package, newer_archive, read_package
from app.formats.zip_limits import DAMAGED, TooLarge
from app.services.archives import (
    Archived,
    Say,
    content_of,
    seal_tables,
)
from app.services.databases import STAMP, prepare_database
from app.services.verifying import verify_log
from app.settings import FOLDER_MODE, Settings
from app.store.archive_rows import RowRefused, count_rows, load_rows, loading_file, reading_file
from app.store.archive_tables import list_tables
from app.store.backups import replace_database
from app.store.migrating import migrate, needs_migration, revision_of, revisions
from app.store.photograph_files import named_files, photograph_path, put_photograph_file
from app.store.session import Database

FIELD: Final = "file"
_NAMED: Final = 3
# A log as rows takes somewhat more room than as sheets.
_ROOM: Final = 3


@dataclass(frozen=True, kw_only=True)
class ReadBack:
    """What was read back, and where the empty log went that was there before.

    `missing` are the hashes of photographs that the log names and the archive does not hold.
    """

    archived: Archived
    aside: Path
    missing: tuple[str, ...]


def read_archive(settings: Settings, *, file: Path, now: datetime, say: Say = str) -> ReadBack:
    """Read an archive back into a folder whose log is empty, and return what it held.

    The caller holds the folder. The new log is made beside the old one, compared with what was
    archived, verified, and only then put in its place. One of an older program is brought up to
    date.

    Raises:
        NotAccepted: it is no archive, is damaged or of a newer program, or the log that is there
            is not empty. Nothing was changed.
        DatabaseIsNewer: the log that is there was written by a newer program.
        BackupUnsound: the new log could not be put in place.
    """
    with (
        reading_archive(file) as archive,
        TemporaryDirectory(prefix=".unarchive-", dir=settings.data) as folder,
    ):
        package = read_package(archive.package())
        _refuse_unknown(package, archive=archive)
        _refuse_without_room(settings.data, needed=_ROOM * archive.size)
        making = replace(settings, data=Path(folder))
        _refuse_unless_empty(
            settings, fresh=replace(settings, data=Path(folder) / "fresh"), now=now
        )
        rows = _make_log(making, archive=archive, package=package, say=say)
        names = _unpack_photographs(archive, folder=making.photographs, say=say)
        content = content_of(seal_tables(making.database_path), photographs=names)
        if content != package.content:
            raise NotAccepted.at(FIELD, "What was read back is not what was archived.")
        prepare_database(making, now=now)
        say("Working every figure out again.")
        _refuse_unsound(making)
        missing = tuple(sorted(set(named_files(making.database_path)) - set(names)))
        aside = _put_in_place(settings, making=making, photographs=names, now=now)
    archived = Archived(
        tables=len(package.seals), rows=rows, photographs=len(names), content=content
    )
    return ReadBack(archived=archived, aside=aside, missing=missing)


def _refuse_unknown(package: Package, *, archive: ArchiveReader) -> None:
    if package.revision not in revisions():
        raise NotAccepted.at(FIELD, newer_archive())
    for table in package.seals:
        if not archive.has(sheet_path(table)) or not archive.has(marks_path(table)):
            raise NotAccepted.at(FIELD, f"The sheet {table} is missing in the archive.")
    if len(archive.photographs) != package.photographs:
        raise NotAccepted.at(
            FIELD,
            f"The archive has {len(archive.photographs)} photographs, "
            f"{package.photographs} were archived.",
        )


def _refuse_without_room(folder: Path, *, needed: int) -> None:
    if shutil.disk_usage(folder).free < needed:
        raise NotAccepted.at(
            FIELD,
            f"There is no room for this archive: about {needed // 1_000_000 + 1:,} MB must be free "
            f"where {folder} is.",
        )


def _refuse_unless_empty(settings: Settings, *, fresh: Settings, now: datetime) -> None:
    """Refuse if the log has more in any table than one that was just made."""
    if revision_of(settings.database_path) is None:
        return
    needs_migration(settings.database_path)
    fresh.data.mkdir(mode=FOLDER_MODE)
    prepare_database(fresh, now=now)
    made = _counts(fresh.database_path)
    more = [
        f"{count:,} in {table}"
        for table, count in _counts(settings.database_path).items()
        if count > made.get(table, 0)
    ]
    if more:
        raise NotAccepted.at(
            FIELD,
            f"The log in {settings.data} is not empty ({', '.join(more[:_NAMED])}). Read the "
            "archive back into a new folder: strikewell --data FOLDER unarchive FILE.",
        )


def _counts(path: Path) -> dict[str, int]:
    with reading_file(path) as connection:
        return {
            table.name: count_rows(connection, table=table) for table in list_tables(connection)
        }


def _make_log(making: Settings, *, archive: ArchiveReader, package: Package, say: Say) -> int:
    """Make a database of the archive's revision, fill it, and return how many rows it got."""
    path = making.database_path
    migrate(path, revision=package.revision)
    with reading_file(path) as connection:
        tables = list_tables(connection)
    _refuse_other_tables(tables, package=package)
    try:
        with loading_file(path, tables=tables) as connection:
            loaded = 0
            for table in tables:
                with closing(_rows(archive, table=table, package=package, say=say)) as rows:
                    loaded += load_rows(connection, table=table, rows=rows)
            return loaded
    except RowRefused as error:
        # The header is line 1.
        raise NotAccepted.at(
            FIELD,
            f"In the sheet {error.table}, line {error.place + 1} is not taken: {error}.",
        ) from error
    except SheetWrong as error:
        raise NotAccepted.at(FIELD, f"{error} Nothing was changed.") from error


def _refuse_other_tables(tables: Sequence[ArchivedTable], *, package: Package) -> None:
    known = {table.name for table in tables}
    if odd := sorted(known.symmetric_difference(package.seals)):
        raise NotAccepted.at(
            FIELD, f"The archive and its version do not agree about the sheet {odd[0]}."
        )


def _rows(
    archive: ArchiveReader, *, table: ArchivedTable, package: Package, say: Say
) -> Generator[tuple[Any, ...], None, None]:
    say(f"Reading {table.name}.")
    reader = SheetReader(table, seal=package.seals[table.name])
    with (
        closing(archive.pieces(sheet_path(table.name))) as pieces,
        closing(archive.pieces(marks_path(table.name))) as marks,
    ):
        yield from reader.rows(pieces, marks=marks)


def _unpack_photographs(archive: ArchiveReader, *, folder: Path, say: Say) -> tuple[str, ...]:
    """Unpack the photographs into a folder and return their hashes."""
    for number, sha256 in enumerate(archive.photographs, start=1):
        say(f"Reading photograph {number:,} of {len(archive.photographs):,}.")
        try:
            with (
                closing(archive.pieces(photograph_part(sha256))) as pieces,
                TemporaryFile() as content,
            ):
                content.writelines(pieces)
                content.seek(0)
                put_photograph_file(folder, content=content, sha256=sha256)
        except (TooLarge, *DAMAGED) as error:
            sentence = f"The photograph {sha256} is not what was archived. Nothing was changed."
            raise NotAccepted.at(FIELD, sentence) from error
    return archive.photographs


def _refuse_unsound(making: Settings) -> None:
    """Refuse a log whose figures do not agree or whose history is not whole."""
    database = Database(making.database_path)
    try:
        with database.reading() as session:
            found = list(islice(verify_log(session), _NAMED))
    finally:
        database.close()
    if found:
        told = " ".join(f"{finding.record}: {finding.sentence}" for finding in found)
        raise NotAccepted.at(FIELD, f"What was archived does not agree. {told}")


def _put_in_place(
    settings: Settings, *, making: Settings, photographs: Sequence[str], now: datetime
) -> Path:
    # Before the log that names them; one that no log names harms nothing.
    for sha256 in photographs:
        with photograph_path(making.photographs, sha256=sha256).open("rb") as content:
            put_photograph_file(settings.photographs, content=content, sha256=sha256)
    aside = settings.backups / f"before-unarchive-{now:{STAMP}}.db"
    replace_database(settings.database_path, by=making.database_path, aside=aside)
    return aside
