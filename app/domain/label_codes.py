"""Codes typed for printing labels: one by one, or from one to another."""

import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Final

from app.domain.labels import MOST_LABELS
from app.domain.problems import NotAccepted

_LINES: Final = re.compile(r"[,;\n\r]+")
_SPAN: Final = re.compile(r"(.+?)\s*(?:\bto\b|\.\.)\s*(.+)", re.IGNORECASE)


@dataclass(frozen=True, kw_only=True)
class WantedCode:
    """A code as it is written; one out of a span may be missing, one typed by itself may not."""

    code: str
    of_span: bool = False


def read_codes(
    text: str, *, canonical: Callable[[str], str], spaced: bool = False
) -> tuple[WantedCode, ...]:
    """Return the codes typed with commas, spaces or on lines of their own, each once.

    `canonical` returns a code as it is written, "" for what is none. "26-0101 to 26-0140" is a
    span. With `spaced` a code may hold spaces itself, so that these part nothing.

    Raises:
        NotAccepted: at "codes", with what cannot be read.
    """
    found: dict[str, WantedCode] = {}
    for line in _LINES.split(text):
        for wanted in _of_line(" ".join(line.split()), canonical=canonical, spaced=spaced):
            found.setdefault(wanted.code, wanted)
    return tuple(found.values())


def _of_line(line: str, *, canonical: Callable[[str], str], spaced: bool) -> Iterator[WantedCode]:
    if not line:
        return
    if code := canonical(line):
        yield WantedCode(code=code)
        return
    span = _SPAN.fullmatch(line)
    ends = [canonical(end) for end in span.groups()] if span else []
    if ends and all(ends):
        yield from (WantedCode(code=code, of_span=True) for code in _between(*ends))
        return
    words = line.split(" ")
    if spaced or len(words) == 1:
        raise NotAccepted.at("codes", f'"{line}" is no code.')
    for word in words:
        yield from _of_line(word, canonical=canonical, spaced=spaced)


def _between(first: str, last: str) -> Iterator[str]:
    before, _, low = first.rpartition("-")
    other, _, high = last.rpartition("-")
    wrong = not (low.isdigit() and high.isdigit()) or before != other
    if wrong or not 0 <= int(high) - int(low) < MOST_LABELS:
        raise NotAccepted.at(
            "codes",
            f"{first} to {last} is no row of codes: give the lower one first, both of one kind and "
            f"year, at most {MOST_LABELS:,}.",
        )
    for number in range(int(low), int(high) + 1):
        yield f"{before}-{number:0{len(low)}d}"
