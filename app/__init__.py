"""Strikewell: the log of a propagation unit."""

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from flask import Flask

    from app.clock import Clock
    from app.settings import Settings


def create_app(settings: "Settings", *, clock: "Clock | None" = None) -> "Flask":
    """Return the web application on the database in the settings' data folder.

    The database must be of this program's revision. Without a clock it is this PC's.
    """
    # The web framework is loaded only where pages are wanted: commands and app.stats do without.
    from app.clock import SystemClock  # noqa: PLC0415 - see above
    from app.web import build  # noqa: PLC0415 - see above

    return build(settings, clock=clock or SystemClock())
