"""Keeps typed text from running as a formula in a spreadsheet, and takes the mark off again.

A cell that a spreadsheet would read as a formula gets an apostrophe in front. The mark is put
before any apostrophes that are there already, so that taking it off gives back exactly what was
typed. Plain numbers such as -3 stay as they are: they cannot run.
"""

import re
from typing import Final

MARK: Final = "'"
# Line feed and the full-width signs behave like the plain ones in some spreadsheets.
_RISKY: Final = re.compile(r"'*[=+\-@\t\r\n＝＋－＠]")
_NUMBER: Final = re.compile(r"[+-]?\d+(?:[.,]\d+)?")


def guard(text: str) -> str:
    """Return the text with one apostrophe in front where a spreadsheet could run it."""
    if _RISKY.match(text) and not _NUMBER.fullmatch(text):
        return MARK + text
    return text


def unguard(text: str) -> str:
    """Return the text without the mark of `guard`; other apostrophes stay."""
    if text.startswith(MARK) and _RISKY.match(text):
        return text[1:]
    return text
