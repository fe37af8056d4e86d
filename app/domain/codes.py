"""The codes the program gives: batches 26-0147, stock plants S-0031, mix lots M-0001,
treatments T-0001, holds H-0001, liner lots L-0001, plant passports P-0001, practical
sessions D-0001, dispatches G-0001.

A code is never reused. Codes are compared as numbers, so 26-10000 comes after 26-9999. The label of
a bench, which people call by its name, says B-0001; a label printed ahead says N-0001.
"""

import re
from dataclasses import dataclass
from typing import Final

_CENTURY: Final = 2000
_DASH: Final = r"[-‐‑‒–—−]"
_BATCH: Final = re.compile(
    rf"#?\s*(?P<year>[0-9]{{2}})(?:\s*{_DASH}\s*|\s*/\s*|\s+)(?P<number>[0-9]{{1,9}})"
)
_BATCH_RUN: Final = re.compile(r"#?\s*(?P<year>[0-9]{2})(?P<number>[0-9]{3,9})")


@dataclass(frozen=True, order=True, kw_only=True)
class BatchCode:
    """A batch's code as its parts: the year of sticking (2000 to 2099) and the number in it."""

    year: int
    number: int

    def __str__(self) -> str:
        """Return the code as it is written, such as "26-0147"."""
        return batch_code(year=self.year, number=self.number)


def batch_code(*, year: int, number: int) -> str:
    """Return "26-0147" for the 147th batch stuck in 2026; more digits where they are needed."""
    return f"{year % 100:02d}-{number:04d}"


def parse_batch_code(text: str) -> BatchCode | None:
    """Return the code typed as "26-0147", "26-147", "26/147" or "26147"; None if it is none.

    Without a hyphen the first two digits are the year and at least three must follow.
    """
    line = text.strip()
    typed = _BATCH.fullmatch(line) or _BATCH_RUN.fullmatch(line)
    if typed is None or int(typed["number"]) == 0:
        return None
    return BatchCode(year=_CENTURY + int(typed["year"]), number=int(typed["number"]))


def stock_plant_code(number: int) -> str:
    """Return "S-0031" for stock plant number 31."""
    return f"S-{number:04d}"


def parse_stock_plant_code(text: str) -> int | None:
    """Return the number in "S-0031", "s31" or "S 31"; None if the text is no such code."""
    return _lettered(text, letter="s")


def bench_code(number: int) -> str:
    """Return "B-0004" for bench number 4; its label carries it, since a name may change."""
    return f"B-{number:04d}"


def parse_bench_code(text: str) -> int | None:
    """Return the number in "B-0004", "b4" or "B 4"; None if the text is no such code."""
    return _lettered(text, letter="b")


def label_number_code(number: int) -> str:
    """Return "N-0042" for number 42 of the labels printed ahead."""
    return f"N-{number:04d}"


def parse_label_number(text: str) -> int | None:
    """Return the number in "N-0042", "n42" or "N 42"; None if the text is no such code."""
    return _lettered(text, letter="n")


def mix_lot_code(number: int) -> str:
    """Return "M-0001" for mix lot number 1."""
    return f"M-{number:04d}"


def parse_mix_lot_code(text: str) -> int | None:
    """Return the number in "M-0001", "m1" or "M 1"; None if the text is no such code."""
    return _lettered(text, letter="m")


def treatment_code(number: int) -> str:
    """Return "T-0001" for treatment number 1."""
    return f"T-{number:04d}"


def parse_treatment_code(text: str) -> int | None:
    """Return the number in "T-0001", "t1" or "T 1"; None if the text is no such code."""
    return _lettered(text, letter="t")


def hold_code(number: int) -> str:
    """Return "H-0001" for hold number 1."""
    return f"H-{number:04d}"


def parse_hold_code(text: str) -> int | None:
    """Return the number in "H-0001", "h1" or "H 1"; None if the text is no such code."""
    return _lettered(text, letter="h")


def practical_code(number: int) -> str:
    """Return "D-0001" for practical session number 1."""
    return f"D-{number:04d}"


def parse_practical_code(text: str) -> int | None:
    """Return the number in "D-0001", "d1" or "D 1"; None if the text is no such code."""
    return _lettered(text, letter="d")


def liner_lot_code(number: int) -> str:
    """Return "L-0001" for liner lot number 1."""
    return f"L-{number:04d}"


def parse_liner_lot_code(text: str) -> int | None:
    """Return the number in "L-0001", "l1" or "L 1"; None if the text is no such code."""
    return _lettered(text, letter="l")


def passport_code(number: int) -> str:
    """Return "P-0001" for plant passport number 1."""
    return f"P-{number:04d}"


def parse_passport_code(text: str) -> int | None:
    """Return the number in "P-0001", "p1" or "P 1"; None if the text is no such code."""
    return _lettered(text, letter="p")


def dispatch_code(number: int) -> str:
    """Return "G-0001" for dispatch number 1."""
    return f"G-{number:04d}"


def parse_dispatch_code(text: str) -> int | None:
    """Return the number in "G-0001", "g1" or "G 1"; None if the text is no such code."""
    return _lettered(text, letter="g")


def _lettered(text: str, *, letter: str) -> int | None:
    typed = re.fullmatch(rf"{letter}\s*{_DASH}?\s*([0-9]{{1,9}})", text.strip(), re.IGNORECASE)
    number = int(typed[1]) if typed else 0
    return number or None
