"""Zips from strangers: refused before anything of them is unpacked."""

import io
import zipfile
from pathlib import Path

import pytest

from app.domain.problems import NotAccepted
from app.formats import archive_zips
from app.formats.archive_zips import PACKAGE, reading_archive, writing_archive


def zip_of(path: Path, parts: dict[str, bytes], *, packing: int = zipfile.ZIP_DEFLATED) -> Path:
    with zipfile.ZipFile(path, "w", packing) as archive:
        for name, content in parts.items():
            archive.writestr(name, content)
    return path


def refusal(path: Path) -> str:
    with pytest.raises(NotAccepted) as refused, reading_archive(path) as archive:
        archive.package()
    return str(refused.value)


@pytest.mark.parametrize(
    "name",
    [
        "../strikewell.db",
        "/etc/passwd",
        "photographs/../../secret.key",
        "photographs/" + "a" * 64 + "/x",
        "sheets\\batches.csv",
        "sheets/Batches.csv",
        "secret.key",
        "photographs/",
    ],
)
def test_a_part_that_no_archive_has_is_refused(tmp_path: Path, name: str) -> None:
    path = zip_of(tmp_path / "a.zip", {PACKAGE: b"{}", name: b"x"})
    assert "which no archive of Strikewell has" in refusal(path)


def test_a_part_told_twice_is_refused(tmp_path: Path) -> None:
    path = zip_of(tmp_path / "a.zip", {PACKAGE: b"{}"})
    with (
        pytest.warns(UserWarning, match="Duplicate"),
        zipfile.ZipFile(path, "a") as archive,
    ):
        archive.writestr(PACKAGE, b"{}")
    assert "which no archive of Strikewell has" in refusal(path)


def test_a_bomb_is_refused_by_what_it_says_of_itself(tmp_path: Path) -> None:
    path = zip_of(tmp_path / "a.zip", {"sheets/batches.csv": b" " * 40_000_000})
    assert "unpack to far more" in refusal(path)


@pytest.mark.parametrize("limit", ["ENTRY_LIMIT", "UNPACKED_LIMIT"])
def test_too_many_and_too_large_are_refused(
    tmp_path: Path, limit: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(archive_zips, limit, 3)
    parts = {f"sheets/s{letter}.csv": b"x" for letter in "abcd"}
    assert "unpack to far more" in refusal(zip_of(tmp_path / "a.zip", parts))


@pytest.mark.parametrize("packing", [zipfile.ZIP_BZIP2, zipfile.ZIP_LZMA])
def test_other_ways_of_packing_are_refused(tmp_path: Path, packing: int) -> None:
    path = zip_of(tmp_path / "a.zip", {PACKAGE: b"{}"}, packing=packing)
    assert "unpack to far more" in refusal(path)


def test_a_locked_part_is_refused(tmp_path: Path) -> None:
    path = zip_of(tmp_path / "a.zip", {PACKAGE: b"{}"})
    data = bytearray(path.read_bytes())
    # General purpose flags: bit 0 says encrypted (APPNOTE.TXT of the zip format, 4.4.4).
    data[data.index(b"PK\x01\x02") + 8] |= 1
    path.write_bytes(data)
    assert "locked with a password" in refusal(path)


@pytest.mark.parametrize("data", [b"", b"PK\x03\x04", b"no zip at all", b"SQLite format 3\x00"])
def test_what_is_no_zip_is_refused(tmp_path: Path, data: bytes) -> None:
    path = tmp_path / "a.zip"
    path.write_bytes(data)
    assert "is not an archive of Strikewell, or it was cut short" in refusal(path)


def test_a_missing_file_and_a_missing_description_are_told(tmp_path: Path) -> None:
    assert "There is no file" in refusal(tmp_path / "a.zip")
    path = zip_of(tmp_path / "b.zip", {"sheets/batches.csv": b"x"})
    assert f"no {PACKAGE}" in refusal(path)


def test_a_description_far_too_long_is_not_read(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(archive_zips, "PACKAGE_LIMIT", 3)
    assert "damaged" in refusal(zip_of(tmp_path / "a.zip", {PACKAGE: b"{    }"}))


def test_the_same_parts_give_the_same_bytes() -> None:
    made = []
    for _ in range(2):
        target = io.BytesIO()
        with writing_archive(target) as archive:
            archive.write(PACKAGE, [b"{", b"}"])
            archive.write("photographs/" + "a" * 64 + ".jpg", [b"x"], packed=False)
        made.append(target.getvalue())
    assert made[0] == made[1]
    with zipfile.ZipFile(io.BytesIO(made[0])) as archive_read:
        assert {entry.date_time[0] for entry in archive_read.infolist()} == {1980}
        assert archive_read.testzip() is None
