"""The zip of an archive: always the same bytes for the same content, and read with distrust."""

import re
import zipfile
from collections.abc import Generator, Iterable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import IO, Final

from app.domain.problems import NotAccepted
from app.formats.zip_limits import DAMAGED, Locked, TooLarge, count_entries, unpack

FIELD: Final = "file"
PACKAGE: Final = "datapackage.json"
ENTRY_LIMIT: Final = 200_000
UNPACKED_LIMIT: Final = 64 * 1024**3
PACKAGE_LIMIT: Final = 16 * 1024 * 1024
# Deflate can make 1,032 bytes of one; sheets of a log make up to about 40.
RATIO_LIMIT: Final = 300
_RATIO_MATTERS: Final = 16 * 1024 * 1024
_NAME: Final = re.compile(
    rf"{re.escape(PACKAGE)}|sheets/[a-z][a-z_]{{0,60}}\.csv|marks/[a-z][a-z_]{{0,60}}\.txt"
    r"|photographs/(?P<sha256>[0-9a-f]{64})\.jpg"
)
_FIRST_DAY: Final = (1980, 1, 1, 0, 0, 0)
_UNIX: Final = 3
_PLAIN_FILE: Final = 0o100600 << 16
_PACKINGS: Final = (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED)


def sheet_path(table: str) -> str:
    """Return where a table's sheet stands in the archive."""
    return f"sheets/{table}.csv"


def marks_path(table: str) -> str:
    """Return where the marks of a sheet's lines stand in the archive."""
    return f"marks/{table}.txt"


def photograph_part(sha256: str) -> str:
    """Return where the photograph of this hash stands in the archive."""
    return f"photographs/{sha256}.jpg"


class ArchiveWriter:
    """Writes the parts of an archive one after the other."""

    def __init__(self, zipped: zipfile.ZipFile) -> None:
        self._zip = zipped

    def write(self, name: str, pieces: Iterable[bytes], *, packed: bool = True) -> None:
        """Write one part; `packed` is off for what is packed already, such as a photograph."""
        entry = zipfile.ZipInfo(name, date_time=_FIRST_DAY)
        entry.create_system = _UNIX
        entry.external_attr = _PLAIN_FILE
        entry.compress_type = zipfile.ZIP_DEFLATED if packed else zipfile.ZIP_STORED
        # Its size is not known before: room for a large one is set aside in any case.
        with self._zip.open(entry, "w", force_zip64=True) as part:
            for piece in pieces:
                part.write(piece)


@contextmanager
def writing_archive(file: IO[bytes]) -> Iterator[ArchiveWriter]:
    """Give a writer of an archive into the file."""
    with zipfile.ZipFile(file, "w") as zipped:
        yield ArchiveWriter(zipped)


class ArchiveReader:
    """Reads the parts of an archive whose directory was found harmless."""

    def __init__(self, zipped: zipfile.ZipFile, *, sizes: dict[str, int]) -> None:
        self._zip = zipped
        self._sizes = sizes

    @property
    def photographs(self) -> tuple[str, ...]:
        """The hashes of the photographs, in order."""
        found = (_NAME.fullmatch(name) for name in self._sizes)
        return tuple(sorted(name["sha256"] for name in found if name and name["sha256"]))

    @property
    def size(self) -> int:
        """How many bytes it says that it unpacks to."""
        return sum(self._sizes.values())

    def has(self, name: str) -> bool:
        """Return whether there is a part of this name."""
        return name in self._sizes

    def pieces(self, name: str) -> Generator[bytes, None, None]:
        """Yield one part; the caller closes what is not read to its end.

        What is damaged raises one of `zip_limits.DAMAGED`.
        """
        return unpack(self._zip, entry=name, limit=self._sizes[name])

    def package(self) -> bytes:
        """Return the description of the archive.

        Raises:
            NotAccepted: it is missing, damaged or far too large.
        """
        if not self.has(PACKAGE):
            raise NotAccepted.at(FIELD, f"This is not an archive of Strikewell: no {PACKAGE}.")
        try:
            return b"".join(unpack(self._zip, entry=PACKAGE, limit=PACKAGE_LIMIT))
        except (TooLarge, *DAMAGED) as error:
            raise NotAccepted.at(FIELD, f"The archive is damaged: {PACKAGE}.") from error


@contextmanager
def reading_archive(path: Path) -> Iterator[ArchiveReader]:
    """Give a reader of an archive whose directory holds nothing but what an archive has.

    Raises:
        NotAccepted: it is no zip, cut short, locked, names parts that no archive has, or would
            unpack to far too much. Nothing was unpacked.
    """
    if not path.is_file():
        raise NotAccepted.at(FIELD, f"There is no file {path}.")
    try:
        zipped = zipfile.ZipFile(path)
    except DAMAGED as error:
        sentence = f"{path} is not an archive of Strikewell, or it was cut short."
        raise NotAccepted.at(FIELD, sentence) from error
    with zipped:
        yield ArchiveReader(zipped, sizes=_sizes(zipped))


def _sizes(zipped: zipfile.ZipFile) -> dict[str, int]:
    try:
        entries = count_entries(zipped, limit=ENTRY_LIMIT)
    except TooLarge as error:
        raise NotAccepted.at(FIELD, _too_large()) from error
    except Locked as error:
        raise NotAccepted.at(FIELD, "The archive is locked with a password.") from error
    sizes: dict[str, int] = {}
    for entry in entries:
        if not _NAME.fullmatch(entry.filename) or entry.filename in sizes:
            raise NotAccepted.at(
                FIELD, f"The archive holds {entry.filename!r}, which no archive of Strikewell has."
            )
        if entry.compress_type not in _PACKINGS or _swells(entry):
            raise NotAccepted.at(FIELD, _too_large())
        sizes[entry.filename] = entry.file_size
    if sum(sizes.values()) > UNPACKED_LIMIT:
        raise NotAccepted.at(FIELD, _too_large())
    return sizes


def _swells(entry: zipfile.ZipInfo) -> bool:
    return entry.file_size > max(_RATIO_MATTERS, RATIO_LIMIT * entry.compress_size)


def _too_large() -> str:
    return "The archive would unpack to far more than a log can be. Nothing was read."
