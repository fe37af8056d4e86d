"""What every page must hold in a browser, in whichever state it is shown.

Rules of the checker: axe-core, all of its rules but the experimental ones, and target size. What it
does not know (reflow, targets of our own size, focus in sight) stands in `page_rules.js`.
"""

from pathlib import Path
from typing import TYPE_CHECKING, Final

from axe_playwright_python.base import AXE_SCRIPT

if TYPE_CHECKING:
    from playwright.sync_api import Page

WIDTHS: Final = (320, 390, 1366)
HEIGHT: Final = 800
TARGET: Final = 24
BY_THE_BENCH: Final = 48
"""Least size of a target in CSS px, anywhere and where a wet thumb works."""

_RULES: Final = (Path(__file__).parent / "page_rules.js").read_text(encoding="utf-8")
_OPTIONS: Final = {"rules": {"target-size": {"enabled": True}}, "resultTypes": ["violations"]}
_OPEN_FOLDS: Final = "document.querySelectorAll('details').forEach(fold => { fold.open = true; })"


def page_faults(page: "Page", *, least: int = TARGET) -> list[str]:
    """Return what is wrong with the page shown, at each width, with its folds open."""
    page.evaluate(AXE_SCRIPT)
    page.evaluate(_OPEN_FOLDS)
    # The keyboard is in use, so that what has the focus shows it.
    page.keyboard.press("Shift")
    faults: list[str] = []
    for width in WIDTHS:
        page.set_viewport_size({"width": width, "height": HEIGHT})
        found = [*page.evaluate(_RULES, least), *_axe_faults(page)]
        faults += [f"{width} px: {fault}" for fault in found]
    return faults


def _axe_faults(page: "Page") -> list[str]:
    found = page.evaluate("options => axe.run(document, options)", _OPTIONS)
    return [
        f"{broken['id']}: {broken['help']}: {node['target']} {node['html'][:120]}"
        for broken in found["violations"]
        for node in broken["nodes"]
    ]
