"""The whole-nursery archive: there and back to the last byte, or refused with a sentence."""

import json
import sqlite3
import zipfile
from collections.abc import Callable
from contextlib import closing
from pathlib import Path
from shutil import copyfile, copytree

import pytest

from app.domain.problems import NotAccepted
from app.formats.archive_sheets import NotCarried
from app.formats.archive_zips import PACKAGE
from app.services.archives import Archived, content_of, seal_tables, write_archive
from app.services.databases import prepare_database
from app.services.unarchives import read_archive
from app.services.verifying import verify_log
from app.settings import Settings
from app.store.archive_tables import LEFT_OUT
from app.store.migrating import revisions
from app.store.session import Database
from tests.conftest import NOW
from tests.journeys.told_log import tell_small_log
from tests.migrations.rows import contents, fill

NASTY = (
    "", "\\N", "\\", "=1+1", "\r\nline", 'quote "in" it', "comma, it", "é 猫 🌱", "-3", "'=1", " ",
)  # fmt: skip


@pytest.fixture(scope="module")
def told(migrated_file: Path, tmp_path_factory: pytest.TempPathFactory) -> Settings:
    """A small log with nasty text, floats to the last bit, and a photograph."""
    folder = tmp_path_factory.mktemp("told")
    settings = Settings(data=folder, secret_key="0")
    copyfile(migrated_file, settings.database_path)
    database = Database(settings.database_path)
    tell_small_log(database)
    database.close()
    with closing(sqlite3.connect(settings.database_path)) as connection:
        for place, text in enumerate(NASTY, start=1):
            connection.execute(
                "INSERT INTO benches (name, walking_order, notes, version) VALUES (?, ?, ?, 1)",
                (f"{text} {place}", 100 + place, text),
            )
            connection.execute(
                "INSERT INTO containers (name, kind, volume_ml, version) VALUES (?, 'pot', ?, 1)",
                (f"{place} {text}", 0.1 * place + 1e-17),
            )
        connection.commit()
    fill(settings.database_path)
    (settings.photographs / "notes.txt").write_bytes(b"not a photograph")
    return settings


def photographs(settings: Settings) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in settings.photographs.glob("*.jpg")}


def first_photograph(settings: Settings) -> Path:
    return min(settings.photographs.glob("*.jpg"))


@pytest.fixture(scope="module")
def archive(told: Settings, tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Archived]:
    path = tmp_path_factory.mktemp("archive") / "whole.zip"
    return path, write_archive(told, file=path)


@pytest.fixture
def empty(tmp_path: Path) -> Settings:
    return Settings(data=tmp_path, secret_key="0")


def changed(archive: Path, target: Path, change: Callable[[str, bytes], bytes | None]) -> Path:
    """Copy an archive with its parts changed; None leaves one out."""
    with (
        zipfile.ZipFile(archive) as source,
        zipfile.ZipFile(target, "w", zipfile.ZIP_DEFLATED) as copy,
    ):
        for name in source.namelist():
            content = change(name, source.read(name))
            if content is not None:
                copy.writestr(name, content)
    return target


def part_changed(name: str, change: Callable[[bytes], bytes]) -> Callable[[str, bytes], bytes]:
    return lambda part, content: change(content) if part == name else content


def refused(settings: Settings, file: Path) -> str:
    """Return the sentence of the refusal, having looked that nothing of it is left behind."""
    before = sorted(settings.data.rglob("*"))
    with pytest.raises(NotAccepted) as refusal:
        read_archive(settings, file=file, now=NOW)
    assert sorted(settings.data.rglob("*")) == before
    return str(refusal.value)


def carried(path: Path) -> dict[str, list[dict[str, object]]]:
    """Return every row of a file that an archive carries, straight from the file."""
    found = {name: rows for name, rows in contents(path).items() if name not in LEFT_OUT}
    for row in found["accounts"]:
        row["password_hash"] = ""
    return found


def test_an_empty_nursery_reads_back_the_very_same_log(
    told: Settings, archive: tuple[Path, Archived], empty: Settings
) -> None:
    path, archived = archive
    read = read_archive(empty, file=path, now=NOW)
    assert read.archived == archived
    assert carried(empty.database_path) == carried(told.database_path)
    assert photographs(empty) == photographs(told)
    assert archived.photographs == len(photographs(told)) > 2
    assert read.missing == ()
    again = empty.data / "again.zip"
    assert write_archive(empty, file=again) == archived
    assert again.read_bytes() == path.read_bytes()
    assert not read.aside.exists()


def test_what_is_left_out_is_empty_afterwards(
    told: Settings, archive: tuple[Path, Archived], empty: Settings
) -> None:
    before = contents(told.database_path)
    assert all(before[name] for name in LEFT_OUT if name in before)
    read_archive(empty, file=archive[0], now=NOW)
    after = contents(empty.database_path)
    assert [name for name in LEFT_OUT if after.get(name)] == []
    assert {row["password_hash"] for row in after["accounts"]} == {""}
    assert b"$argon2" not in archive[0].read_bytes()


def test_the_log_read_back_is_whole_and_guards_itself(
    archive: tuple[Path, Archived], empty: Settings
) -> None:
    read_archive(empty, file=archive[0], now=NOW)
    database = Database(empty.database_path)
    with database.reading() as session:
        assert list(verify_log(session)) == []
    database.close()
    with (
        closing(sqlite3.connect(empty.database_path)) as connection,
        pytest.raises(sqlite3.IntegrityError, match="history is only added to"),
    ):
        connection.execute("DELETE FROM history")


def test_starting_data_is_no_hindrance(archive: tuple[Path, Archived], empty: Settings) -> None:
    prepare_database(empty, now=NOW)
    read = read_archive(empty, file=archive[0], now=NOW)
    assert read.archived == archive[1]
    assert read.aside.is_file()
    assert read.aside.name == "before-unarchive-2026-11-25-090000.db"


def test_a_log_that_is_not_empty_is_kept(
    told: Settings, archive: tuple[Path, Archived], empty: Settings
) -> None:
    copyfile(told.database_path, empty.database_path)
    before = empty.database_path.read_bytes()
    assert "is not empty" in refused(empty, archive[0])
    assert empty.database_path.read_bytes() == before


def test_the_content_changes_with_any_value(told: Settings, tmp_path: Path) -> None:
    copy = tmp_path / "copy.db"
    copyfile(told.database_path, copy)
    first = content_of(seal_tables(copy), photographs=())
    seen = {first, content_of(seal_tables(copy), photographs=("a" * 64,))}
    changes = (
        "UPDATE batches SET notes = notes || ' ' WHERE id = 1",
        "UPDATE batches SET trays = NULL WHERE trays IS NOT NULL",
        "UPDATE containers SET volume_ml = volume_ml + 1e-9 WHERE volume_ml IS NOT NULL",
        "UPDATE people SET erased_at = '2026-11-25 09:00:00.000001' WHERE id = 3",
    )
    with closing(sqlite3.connect(copy)) as connection:
        for change in changes:
            assert connection.execute(change).rowcount > 0
            connection.commit()
            seen.add(content_of(seal_tables(copy), photographs=()))
    assert len(seen) == len(changes) + 2


def test_a_changed_cell_of_any_sheet_is_refused_by_its_line(
    archive: tuple[Path, Archived], empty: Settings
) -> None:
    with zipfile.ZipFile(archive[0]) as source:
        sheets = [name for name in source.namelist() if name.startswith("sheets/")]
    assert len(sheets) == archive[1].tables
    for sheet in sheets[::9]:

        def change(content: bytes) -> bytes:
            header, rest = content.split(b"\r\n", 1)
            return header + b"\r\n9" + rest

        path = changed(archive[0], empty.data / "changed.zip", part_changed(sheet, change))
        table = sheet.removeprefix("sheets/").removesuffix(".csv")
        assert f"In the sheet {table}, line 2 is not what was archived" in refused(empty, path)


def test_a_flipped_bit_anywhere_is_refused_or_changes_nothing(
    archive: tuple[Path, Archived], empty: Settings
) -> None:
    whole = archive[0].read_bytes()
    path = empty.data / "flipped.zip"
    refusals = 0
    places = range(40, len(whole), len(whole) // 12)
    for place in places:
        flipped = bytearray(whole)
        flipped[place] ^= 4
        path.write_bytes(flipped)
        target = Settings(data=empty.data / str(place), secret_key="0")
        target.data.mkdir()
        try:
            # A bit of the zip's own, such as the time of a part, says nothing of the log.
            assert read_archive(target, file=path, now=NOW).archived == archive[1]
        except NotAccepted:
            refusals += 1
            assert not list(target.data.iterdir())
    assert refusals > len(places) // 2


@pytest.mark.parametrize(
    ("own", "words"),
    [
        ({"form": 2}, "written by a newer version of Strikewell. Nothing was changed"),
        ({"revision": "9999"}, "written by a newer version of Strikewell. Nothing was changed"),
        ({"form": "1"}, "was not written by it"),
        ({"content": "sha256:" + "0" * 64}, "What was read back is not what was archived"),
        ({"photographs": 99}, "photographs, 99 were archived"),
        ({"revision": revisions()[0]}, "do not agree about the sheet"),
    ],
)
def test_what_the_description_says_must_hold(
    archive: tuple[Path, Archived], empty: Settings, own: dict[str, object], words: str
) -> None:
    def change(content: bytes) -> bytes:
        described = json.loads(content)
        described["strikewell"] |= own
        return json.dumps(described).encode()

    path = changed(archive[0], empty.data / "a.zip", part_changed(PACKAGE, change))
    assert words in refused(empty, path)


@pytest.mark.parametrize("described", [b"", b"[]", b"{}", b'{"strikewell": {"form": 1}}', b"\xff"])
def test_a_description_of_something_else_is_refused(
    archive: tuple[Path, Archived], empty: Settings, described: bytes
) -> None:
    path = changed(archive[0], empty.data / "a.zip", part_changed(PACKAGE, lambda _: described))
    assert "was not written by it" in refused(empty, path)


@pytest.mark.parametrize(
    ("part", "words"),
    [
        ("sheets/batches.csv", "The sheet batches is missing"),
        ("marks/batches.txt", "The sheet batches is missing"),
    ],
)
def test_a_missing_part_is_named(
    archive: tuple[Path, Archived], empty: Settings, part: str, words: str
) -> None:
    path = changed(
        archive[0],
        empty.data / "a.zip",
        lambda name, content: None if name == part else content,
    )
    assert words in refused(empty, path)


def test_a_missing_photograph_is_noticed(
    told: Settings, archive: tuple[Path, Archived], empty: Settings
) -> None:
    part = f"photographs/{first_photograph(told).name}"
    path = changed(
        archive[0],
        empty.data / "a.zip",
        lambda name, content: None if name == part else content,
    )
    number = archive[1].photographs
    assert f"has {number - 1} photographs, {number} were archived" in refused(empty, path)


def test_a_changed_photograph_is_named(
    told: Settings, archive: tuple[Path, Archived], empty: Settings
) -> None:
    name = first_photograph(told).name
    part = part_changed(f"photographs/{name}", lambda content: content + b"x")
    path = changed(archive[0], empty.data / "a.zip", part)
    sentence = f"The photograph {name.removesuffix('.jpg')} is not what was archived"
    assert sentence in refused(empty, path)


@pytest.mark.parametrize("damage", ["changed", "missing"])
def test_a_damaged_photograph_is_left_out_and_named(
    told: Settings, empty: Settings, tmp_path: Path, damage: str
) -> None:
    settings = Settings(data=tmp_path / "data", secret_key="0")
    copytree(told.data, settings.data)
    first = first_photograph(settings)
    if damage == "changed":
        first.write_bytes(b"something else")
    else:
        first.unlink()
    archived = write_archive(settings, file=tmp_path / "a.zip")
    assert archived.unsound == (first.stem,)
    assert archived.photographs == len(photographs(told)) - 1
    read = read_archive(empty, file=tmp_path / "a.zip", now=NOW)
    assert read.missing == (first.stem,)


def broken(told: Settings, folder: Path, *statements: str) -> Path:
    """Return the archive of a log that was changed behind the program's back."""
    settings = Settings(data=folder / "broken", secret_key="0")
    settings.data.mkdir()
    copyfile(told.database_path, settings.database_path)
    with closing(sqlite3.connect(settings.database_path)) as connection:
        for statement in statements:
            connection.execute(statement)
        connection.commit()
    return write_archive_of(settings, folder / "broken.zip")


def write_archive_of(settings: Settings, path: Path) -> Path:
    write_archive(settings, file=path)
    return path


def test_a_log_that_does_not_agree_is_not_read_back(
    told: Settings, empty: Settings, tmp_path: Path
) -> None:
    path = broken(
        told, tmp_path, "DROP TRIGGER history_no_update", "UPDATE history SET what = 'nothing'"
    )
    sentence = refused(empty, path)
    assert "What was archived does not agree" in sentence
    assert "It is not what was sealed" in sentence


def test_a_reference_to_nothing_is_refused_by_its_line(
    told: Settings, empty: Settings, tmp_path: Path
) -> None:
    path = broken(told, tmp_path, "UPDATE batch_sources SET batch_id = 999 WHERE id = 1")
    assert "In the sheet batch_sources, line 2 is not taken: it points to a row of batches" in (
        refused(empty, path)
    )


def test_a_damaged_value_stops_the_archive(told: Settings, tmp_path: Path) -> None:
    with pytest.raises(NotCarried, match="notes in row 1 of people is damaged, it holds a NUL"):
        broken(told, tmp_path, "UPDATE people SET notes = 'a' || char(0) WHERE id = 1")
    assert not list(tmp_path.glob("*.zip*")) + list(tmp_path.glob(".*"))


def test_an_archive_is_never_written_over_another_file(told: Settings, tmp_path: Path) -> None:
    path = tmp_path / "a.zip"
    path.write_bytes(b"mine")
    with pytest.raises(NotAccepted, match="is there already"):
        write_archive(told, file=path)
    assert path.read_bytes() == b"mine"


def test_without_room_nothing_is_begun(
    archive: tuple[Path, Archived], empty: Settings, monkeypatch: pytest.MonkeyPatch
) -> None:
    class Full:
        free = 1000

    monkeypatch.setattr("app.services.unarchives.shutil.disk_usage", lambda _: Full)
    assert "There is no room for this archive" in refused(empty, archive[0])
