"""The archive of two seasons: there and back, the same to the last byte."""

from pathlib import Path
from shutil import copyfile, copytree

from app.services.archives import write_archive
from app.services.unarchives import read_archive
from app.settings import Settings
from tests.conftest import NOW


def test_the_demo_comes_back_from_its_archive(told_file: Path, tmp_path: Path) -> None:
    told = Settings(data=tmp_path / "told", secret_key="0")
    back = Settings(data=tmp_path / "back", secret_key="0")
    told.data.mkdir()
    back.data.mkdir()
    copyfile(told_file, told.database_path)
    copytree(told_file.parent / "photographs", told.photographs)
    first = write_archive(told, file=tmp_path / "first.zip")
    assert first.rows > 10_000
    assert first.unsound == ()
    assert read_archive(back, file=tmp_path / "first.zip", now=NOW).archived == first
    write_archive(back, file=tmp_path / "second.zip")
    assert (tmp_path / "second.zip").read_bytes() == (tmp_path / "first.zip").read_bytes()
