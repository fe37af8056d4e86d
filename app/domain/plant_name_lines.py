"""One typed line made ready for reading as a plant name, and cut at its quotation marks."""

import re
import unicodedata
from dataclasses import dataclass
from typing import Final

from app.domain.plant_name_rules import Remarks, is_letter, refuse, shown

LONGEST_NAME: Final = 200

_SINGLE: Final = dict.fromkeys(map(ord, "‘’‚‛′‹›`´"), "'")
_DOUBLE: Final = dict.fromkeys(map(ord, '“”„‟″«»"'), "'")
_SIGNS: Final = dict.fromkeys(map(ord, "✕✖⨯╳"), "×") | {ord("＋"): "+"}
_OPENING: Final = re.compile(r"(?:(?<=[\s(])|^)'")
_CLOSING: Final = re.compile(r"'(?=[\s)]|$)")
_STOP_AT_END: Final = re.compile(r"(?<=')[.,;]+$")
_CV: Final = re.compile(r"\scv(?:\.\s*|\s+)(?=\S)", re.IGNORECASE)
_RIGHTS: Final = re.compile(r"[®™]|(?<=\w')\s*(?:\(PBR\)|PBR\b)|\s(?:\(PBR\)|PBR)(?=[\s)]|$)")
_OUTSIDE: Final = frozenset(" .-'&()×+")


@dataclass(frozen=True, kw_only=True)
class CutLine:
    """A line cut at its cultivar epithet; `cultivar` is None where none is marked.

    `bracketed` says that the epithet stood in brackets, as it does beside a selling name.
    """

    before: str
    cultivar: str | None = None
    after: str = ""
    bracketed: bool = False


def tidy_line(text: str, *, remarks: Remarks) -> str:
    """Return the text in one line with straight single quotation marks and signs standing alone.

    Raises:
        NotAccepted: nothing is there, or more than 200 characters.
    """
    seen = "".join(letter for letter in text if unicodedata.category(letter) != "Cf")
    line = " ".join(unicodedata.normalize("NFC", seen).split())
    if not line:
        raise refuse("Type the plant's name, beginning with its genus.")
    if len(line) > LONGEST_NAME:
        raise refuse(f"Shorten the name to at most {LONGEST_NAME} characters.")
    if line != text:
        remarks.put_right("Spaces and hidden signs that do not belong were left out.")
    return _signs_alone(_straight_quotes(line, remarks=remarks), remarks=remarks)


def cut_at_quotes(line: str, *, remarks: Remarks) -> CutLine:
    """Return the line cut from its first opening to its last closing quotation mark.

    An apostrophe inside the epithet ('Bramley's Seedling', 'Emerald 'n' Gold') belongs to it.

    Raises:
        NotAccepted: a quotation mark has no partner, or two epithets are marked.
    """
    marked = _mark_after_cv(_without_rights(line, remarks=remarks), remarks=remarks)
    opening = _OPENING.search(marked)
    closings = list(_CLOSING.finditer(marked))
    if opening is None and not closings:
        return CutLine(before=_outside(marked))
    if opening is None:
        raise refuse("Put a quotation mark before the cultivar epithet too.")
    if not closings or closings[-1].start() <= opening.start():
        raise refuse("Close the quotation mark after the cultivar epithet.")
    inner = marked[opening.end() : closings[-1].start()]
    if _holds_two(inner):
        raise refuse("Keep one cultivar epithet in quotation marks: a plant has only one.")
    before = marked[: opening.start()].rstrip()
    after = marked[closings[-1].end() :].lstrip()
    bracketed = before.endswith("(") and after.startswith(")")
    if bracketed:
        before, after = before[:-1], after[1:]
    return CutLine(
        before=_outside(before),
        cultivar=_without_doubled(inner),
        after=_outside(after),
        bracketed=bracketed,
    )


def quotes_are_closed(text: str) -> bool:
    """Return whether every epithet that begins in the text also ends in it."""
    opening = _OPENING.search(text)
    return opening is None or _CLOSING.search(text, opening.end()) is not None


def _straight_quotes(line: str, *, remarks: Remarks) -> str:
    single = line.translate(_SINGLE)
    if single != line:
        remarks.put_right("Quotation marks are kept straight.")
    straight = single.translate(_DOUBLE)
    if straight != single:
        remarks.put_right("A cultivar epithet stands in single quotation marks.")
    ended = _STOP_AT_END.sub("", straight)
    if ended != straight:
        remarks.put_right("The stop at the end was left out.")
    return ended


def _signs_alone(line: str, *, remarks: Remarks) -> str:
    signs = line.translate(_SIGNS)
    alone = " ".join(re.sub(r"([×+])", r" \1 ", signs).split())
    if alone != line:
        remarks.put_right("A hybrid sign stands alone, with a space after it.")
    return alone


def _without_rights(line: str, *, remarks: Remarks) -> str:
    without = " ".join(_RIGHTS.sub("", line).split())
    if without != line:
        remarks.put_right("Rights and trade marks have a place of their own and were left out.")
    return without


def _mark_after_cv(line: str, *, remarks: Remarks) -> str:
    """Return the line with quotation marks in place of "cv." (ICNCP Art. 14, from memory)."""
    found = _CV.search(line)
    opening = _OPENING.search(line)
    if found is None or (opening is not None and opening.start() < found.start()):
        return line
    remarks.put_right("Quotation marks take the place of cv.")
    epithet = line[found.end() :]
    marked = epithet if epithet.startswith("'") else f"'{epithet}'"
    return f"{line[: found.start()]} {marked}"


def _outside(text: str) -> str:
    """Return what stands outside the quotation marks, without commas.

    Raises:
        NotAccepted: a sign stands there that belongs in no name.
    """
    words = " ".join(text.replace(",", " ").split())
    for sign in words:
        if not (is_letter(sign) or sign.isdecimal() or sign in _OUTSIDE):
            raise refuse(f"Take {shown(sign)} out of the name.")
    return words


def _holds_two(inner: str) -> bool:
    """Return whether one epithet ends inside the text and another begins after it."""
    closed = False
    for position, sign in enumerate(inner):
        if sign != "'":
            continue
        before = inner[position - 1 : position] or " "
        after = inner[position + 1 : position + 2] or " "
        opens = before == " " and after not in " ,"
        if opens and closed:
            return True
        closed = closed or (before != " " and after in " ," and not _is_small_and(inner, position))
    return False


def _is_small_and(inner: str, position: int) -> bool:
    """Return whether the mark at the position closes the 'n' that stands for "and"."""
    return inner[:position].endswith(" 'n")


def _without_doubled(inner: str) -> str:
    epithet = inner.strip()
    while len(epithet) > 1 and epithet.startswith("'") and epithet.endswith("'"):
        epithet = epithet[1:-1].strip()
    return epithet
