"""Settings of one running program, read once from the data folder and the environment."""

import os
import secrets
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Final

FOLDER_MODE: Final = 0o700
FILE_MODE: Final = 0o600
SHEET_BYTES: Final = 2 * 1024 * 1024
PHOTOGRAPH_BYTES: Final = 15 * 1024 * 1024


@dataclass(frozen=True, kw_only=True)
class Settings:
    """What the program was started with.

    `data` is the folder that holds the database, the photographs, the key and the backups.
    `trusted_hosts` are the host names besides localhost that pages may be asked under.
    """

    data: Path
    secret_key: str
    trusted_hosts: tuple[str, ...] = ()
    lan: bool = False
    testing: bool = False

    @property
    def database_path(self) -> Path:
        """The SQLite file inside the data folder."""
        return self.data / "strikewell.db"

    @property
    def photographs(self) -> Path:
        """The folder of the photographs' files, each named by its hash."""
        return self.data / "photographs"

    @property
    def backups(self) -> Path:
        """The folder of daily and monthly backups."""
        return self.data / "backups"


def default_data_folder(environ: Mapping[str, str] = os.environ) -> Path:
    """Return STRIKEWELL_DATA if set, else the folder `strikewell` in the user's own data place."""
    if named := environ.get("STRIKEWELL_DATA"):
        return Path(named)
    if local := environ.get("LOCALAPPDATA"):
        return Path(local) / "strikewell"
    base = environ.get("XDG_DATA_HOME")
    return (Path(base) if base else Path.home() / ".local" / "share") / "strikewell"


def read_settings(
    data: Path | None = None,
    *,
    lan: bool = False,
    trusted_hosts: tuple[str, ...] = (),
    environ: Mapping[str, str] = os.environ,
) -> Settings:
    """Return the settings for a data folder, making the folder and its key where missing.

    The folder is closed to other users of the PC (0700), the key file too (0600).
    """
    folder = (data or default_data_folder(environ)).absolute()
    folder.mkdir(mode=FOLDER_MODE, parents=True, exist_ok=True)
    named = tuple(host for host in environ.get("STRIKEWELL_HOSTS", "").split(",") if host)
    return Settings(
        data=folder,
        secret_key=_secret_key(folder / "secret.key"),
        trusted_hosts=trusted_hosts + named,
        lan=lan,
    )


def _secret_key(path: Path) -> str:
    try:
        descriptor = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, FILE_MODE)
    except FileExistsError:
        return path.read_text(encoding="ascii").strip()
    key = secrets.token_hex(32)
    with os.fdopen(descriptor, "w", encoding="ascii") as file:
        file.write(key)
    return key
