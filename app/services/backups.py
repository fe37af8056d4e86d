"""The nursery's backups: one a day, one a month, which are kept, how old the newest is."""

import os
import re
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Final

from app.domain.problems import NotAccepted
from app.services.databases import STAMP
from app.settings import Settings
from app.store.backups import check_sound, copy_database, replace_database
from app.store.migrating import needs_migration
from app.store.photograph_files import CopiedFiles, copy_photograph_files, named_files

DAILY_KEPT: Final = 14
MONTHLY_KEPT: Final = 12
PHOTOGRAPHS: Final = "photographs"
LATE_AFTER: Final = timedelta(hours=26)
_DAILY: Final = re.compile(r"daily-\d{4}-\d\d-\d\d\.db")
_MONTHLY: Final = re.compile(r"monthly-\d{4}-\d\d\.db")


@dataclass(frozen=True, kw_only=True)
class BackupState:
    """How the regular backups stand: when the newest was made and how many there are."""

    newest_at: datetime | None
    late: bool
    daily: int
    monthly: int


def write_backup(settings: Settings, *, file: Path, now: datetime) -> Path:
    """Back the log up to a file of the person's choice and return where it is.

    A folder gets a file named after the instant in UTC. Others may be writing meanwhile.

    Raises:
        NotAccepted: a file of that name is there already.
        BackupUnsound: there is no log, or the copy is not sound.
    """
    target = file / f"strikewell-{now:{STAMP}}.db" if file.is_dir() else file
    if target.exists():
        raise NotAccepted.at(
            "file", f"{target} is there already. Give another name, or a folder to put it in."
        )
    copy_database(settings.database_path, target=target)
    return target


def restore_backup(settings: Settings, *, file: Path, now: datetime) -> Path:
    """Put a backup in the place of the log and return where the log was moved to.

    The caller holds the folder. A backup of an older program is brought up to date at the next
    start.

    Raises:
        BackupUnsound: the file is no backup or is damaged; nothing was changed.
        DatabaseIsNewer: it was written by a newer program; nothing was changed.
        NotALog: it is a database of something else; nothing was changed.
    """
    check_sound(file)
    needs_migration(file)
    aside = settings.backups / f"before-restore-{now:{STAMP}}.db"
    replace_database(settings.database_path, by=file, aside=aside)
    return aside


def copy_photographs(settings: Settings, *, backup: Path) -> CopiedFiles:
    """Put the photographs that a backup names into the folder `photographs` beside it.

    Those that lie there already, from a backup before, are not copied again. A photograph that is
    missing or damaged is told and keeps nothing else from being copied.
    """
    target = beside_backup(backup)
    return copy_photograph_files(named_files(backup), source=settings.photographs, target=target)


def bring_photographs(settings: Settings, *, file: Path) -> CopiedFiles:
    """Put back the photographs that a backup names and the data folder does not hold.

    They are looked for beside the backup. What the data folder holds stays.
    """
    source = beside_backup(file)
    return copy_photograph_files(named_files(file), source=source, target=settings.photographs)


def beside_backup(backup: Path) -> Path:
    """Return the folder where the photographs of a backup lie."""
    return backup.parent / PHOTOGRAPHS


def keep_regular_backups(settings: Settings, *, today: date, now: datetime) -> tuple[Path, ...]:
    """Make today's and this month's backup where missing, and return those that were made.

    Photographs are kept once for all of them: their files never change.

    The newest 14 daily and 12 monthly ones stay; older ones are removed once the new one is safe.

    Raises:
        BackupUnsound: the copy is not sound; the older ones stay.
    """
    folder = settings.backups
    wanted = (folder / f"daily-{today:%Y-%m-%d}.db", folder / f"monthly-{today:%Y-%m}.db")
    made = tuple(path for path in wanted if not path.exists())
    for path in made:
        copy_database(settings.database_path, target=path)
        os.utime(path, (now.timestamp(), now.timestamp()))
    for path in wanted:
        # At each look, so that what once failed or was damaged is made good.
        copy_photographs(settings, backup=path)
    for name, kept in ((_DAILY, DAILY_KEPT), (_MONTHLY, MONTHLY_KEPT)):
        for path in _regular(settings, name)[:-kept]:
            path.unlink()
    return made


def backup_state(settings: Settings, *, now: datetime) -> BackupState:
    """Return how the regular backups stand; late without one in the last 26 hours."""
    daily, monthly = _regular(settings, _DAILY), _regular(settings, _MONTHLY)
    times = [datetime.fromtimestamp(path.stat().st_mtime, UTC) for path in daily + monthly]
    newest = max(times, default=None)
    return BackupState(
        newest_at=newest,
        late=newest is None or now - newest > LATE_AFTER,
        daily=len(daily),
        monthly=len(monthly),
    )


def _regular(settings: Settings, name: re.Pattern[str]) -> list[Path]:
    """Return the backups of one kind, oldest first: their names carry the day."""
    if not settings.backups.is_dir():
        return []
    return sorted(path for path in settings.backups.iterdir() if name.fullmatch(path.name))
