"""What one cell of a record's sheet may say, whatever the record: text, numbers, days, choices."""

import re
from datetime import date
from enum import StrEnum
from typing import Any, Final, Protocol

from app.domain.days import EARLIEST, LATEST
from app.domain.problems import NotAccepted


class CellReader(Protocol):
    """Reads one kind of cell."""

    def __call__(self, text: str, /, *, column: str) -> Any:
        """Return the value of a text that is not blank.

        Raises:
            NotAccepted: at `column`, the text says nothing of this kind.
        """
        ...


LARGEST: Final = 10_000_000
_ISO: Final = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")
_DAY_FIRST: Final = re.compile(r"([0-9]{1,2})\s*[./-]\s*([0-9]{1,2})\s*[./-]\s*([0-9]{4})")
_WHOLE: Final = re.compile(r"(-?[0-9]{1,9})(?:[.,]0+)?")
_DECIMAL: Final = re.compile(r"-?[0-9]{1,9}(?:[.,][0-9]{1,17})?(?:[eE]-?[0-9]{1,3})?")
_YES: Final = frozenset({"yes", "y", "true", "1"})
_NO: Final = frozenset({"no", "n", "false", "0"})


def read_text(text: str, *, column: str) -> str:  # noqa: ARG001 - every reader is told its column
    """Return the text, its lines ended alike; how long it may be the record's own rules say."""
    return plain_lines(text)


def plain_lines(text: str) -> str:
    """Return text with one kind of line end and nothing blank around it.

    Spreadsheets end lines within a cell otherwise than a page's form does.
    """
    return text.replace("\r\n", "\n").replace("\r", "\n").strip()


def read_whole(text: str, *, column: str) -> int:
    """Return the whole number written as 240 or 240.0.

    Raises:
        NotAccepted: it is no whole number.
    """
    typed = _WHOLE.fullmatch(text)
    if typed is None or abs(int(typed[1])) > LARGEST:
        raise NotAccepted.at(column, f"“{text}” is no whole number. Put one such as 24.")
    return int(typed[1])


def read_decimal(text: str, *, column: str) -> float:
    """Return the number written as 8, 8.5 or 8,5.

    Raises:
        NotAccepted: it is no number.
    """
    if not _DECIMAL.fullmatch(text):
        raise NotAccepted.at(column, f"“{text}” is no number. Put one such as 8.5.")
    return float(text.replace(",", "."))


def read_any_day(text: str, *, column: str) -> date:
    """Return the day written as 2026-05-03 or 3/5/2026, the day first; it may be to come.

    Raises:
        NotAccepted: it is no day, or not between 1950 and 2100.
    """
    typed = _DAY_FIRST.fullmatch(text)
    written = f"{typed[3]}-{int(typed[2]):02}-{int(typed[1]):02}" if typed else text
    try:
        day = date.fromisoformat(written) if _ISO.fullmatch(written) else None
    except ValueError:
        day = None
    if day is None or not EARLIEST <= day <= LATEST:
        sentence = f"“{text}” is no day. Put it as 2026-05-03, or 3/5/2026 with the day first."
        raise NotAccepted.at(column, sentence)
    return day


def read_yes(text: str, *, column: str) -> bool:
    """Return whether the cell says yes.

    Raises:
        NotAccepted: it says neither yes nor no.
    """
    word = text.casefold()
    if word in _YES | _NO:
        return word in _YES
    raise NotAccepted.at(column, f"“{text}” is neither yes nor no.")


def choice_reader(kinds: type[StrEnum]) -> CellReader:
    """Return a reader of one of these words, whatever their capitals."""
    words = {str(kind).casefold(): kind for kind in kinds if kind}

    def read(text: str, *, column: str) -> StrEnum:
        found = words.get(" ".join(text.casefold().split()))
        if found is None:
            sentence = (
                f"“{text}” is none of the words for {column}. Put one of: {', '.join(words)}."
            )
            raise NotAccepted.at(column, sentence)
        return found

    return read
