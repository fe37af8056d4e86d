"""Files named by what they hold: put there whole, copied once, found out when changed."""

import hashlib
import io
import sqlite3
import stat
from contextlib import closing
from pathlib import Path

import pytest

from app.store.photograph_files import (
    copy_photograph_files,
    faulty_files,
    named_files,
    photograph_path,
    put_photograph_file,
)
from app.store.session import Database

CONTENT = b"a picture of a tray"
NAME = hashlib.sha256(CONTENT).hexdigest()


def put(folder: Path, content: bytes = CONTENT, *, sha256: str = NAME) -> bool:
    return put_photograph_file(folder, content=io.BytesIO(content), sha256=sha256)


def test_a_file_is_named_by_its_hash_and_closed_to_others(tmp_path: Path) -> None:
    folder = tmp_path / "photographs"
    assert put(folder)
    path = photograph_path(folder, sha256=NAME)
    assert path.name == f"{NAME}.jpg"
    assert path.read_bytes() == CONTENT
    assert stat.S_IMODE(path.stat().st_mode) == 0o600
    assert stat.S_IMODE(folder.stat().st_mode) == 0o700
    assert list(folder.iterdir()) == [path]


def test_one_that_is_there_stays_and_a_damaged_one_is_made_good(tmp_path: Path) -> None:
    put(tmp_path)
    path = photograph_path(tmp_path, sha256=NAME)
    assert not put(tmp_path)
    path.write_bytes(b"damaged")
    assert put(tmp_path)
    assert path.read_bytes() == CONTENT


def test_what_is_not_what_its_name_says_is_not_kept(tmp_path: Path) -> None:
    with pytest.raises(ValueError, match="not what its name says"):
        put(tmp_path, b"another picture")
    assert list(tmp_path.iterdir()) == []


def test_only_what_is_missing_is_copied(tmp_path: Path) -> None:
    source, target = tmp_path / "one", tmp_path / "other"
    put(source)
    names = {NAME: len(CONTENT), "0" * 64: 10}
    first = copy_photograph_files(names, source=source, target=target)
    assert (first.copied, first.missing) == ((NAME,), ("0" * 64,))
    again = copy_photograph_files(names, source=source, target=target)
    assert again.copied == ()
    photograph_path(target, sha256=NAME).write_bytes(b"cut")
    mended = copy_photograph_files(names, source=source, target=target)
    assert mended.copied == (NAME,)


def test_a_changed_file_is_told_and_not_copied(tmp_path: Path) -> None:
    source, target = tmp_path / "one", tmp_path / "other"
    put(source)
    photograph_path(source, sha256=NAME).write_bytes(b"not it")
    copied = copy_photograph_files({NAME: len(CONTENT)}, source=source, target=target)
    assert copied.missing == (NAME,)
    assert list(target.iterdir()) == []


def test_faults_are_found(tmp_path: Path) -> None:
    assert [sentence for _, sentence in faulty_files([NAME], folder=tmp_path)] == [
        f"Its file {NAME}.jpg is missing."
    ]
    put(tmp_path)
    assert list(faulty_files([NAME], folder=tmp_path)) == []
    photograph_path(tmp_path, sha256=NAME).write_bytes(b"a picture of a trap")
    assert [sentence for _, sentence in faulty_files([NAME], folder=tmp_path)] == [
        f"Its file {NAME}.jpg is not what was stored."
    ]


def test_a_log_from_before_photographs_names_none(database: Database, tmp_path: Path) -> None:
    assert named_files(database.path) == {}
    old = tmp_path / "old.db"
    with closing(sqlite3.connect(old)) as connection:
        connection.execute("CREATE TABLE meta (id INTEGER)")
    assert named_files(old) == {}
