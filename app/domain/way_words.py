"""How a batch is spoken of by its way: cuttings strike, divisions live, grafts take.

Sentences are written once, for cuttings. What is said of a division or a graft is the same
sentence in the words of its way, so that no sentence exists three times. Only sentences of the
program are to be told so, never what somebody wrote.
"""

import re
from collections.abc import Mapping
from typing import Final

from app.domain.cutting_types import CuttingType

_DIVISIONS: Final[Mapping[str, str]] = {
    "strike rate": "share alive",
    "strike rates": "shares alive",
    "cleared unrooted": "cleared before it was known",
    "newly rooted": "newly found alive",
    "would root": "would live",
    "what roots later": "what lives on later",
    "not rooted yet": "not settled yet",
    "takes to root": "takes to settle",
    "have rooted": "are alive",
    "unrooted": "not settled",
    "rooted": "alive",
    "stuck": "divided",
    "sticking": "dividing",
    "cuttings": "divisions",
    "cutting": "division",
}
_GRAFTS: Final[Mapping[str, str]] = {
    "strike rate": "take",
    "strike rates": "takes",
    "cleared unrooted": "cleared before it was known",
    "newly rooted": "newly taken",
    "would root": "would take",
    "what roots later": "what takes later",
    "not rooted yet": "not taken yet",
    "takes to root": "takes to unite",
    "have rooted": "have taken",
    "unrooted": "not taken yet",
    "rooted": "taken",
    "stuck": "grafted",
    "sticking": "grafting",
    "cuttings": "grafts",
    "cutting": "graft",
}
_BY_TYPE: Final = {
    CuttingType.DIVISION.value: _DIVISIONS,
    CuttingType.GRAFT.value: _GRAFTS,
}
# Longest first. A word that is part of another, such as re-stuck, is left alone.
_WORDS: Final = re.compile(
    r"(?<![\w-])(?:"
    + "|".join(sorted(map(re.escape, _GRAFTS), key=len, reverse=True))
    + r")(?![\w-])",
    re.IGNORECASE,
)


def told_for(sentence: str, *, cutting_type: CuttingType | str | None) -> str:
    """Return a sentence written for cuttings in the words of a batch's way."""
    words = _BY_TYPE.get(str(cutting_type or ""))
    if words is None:
        return sentence

    def instead(found: re.Match[str]) -> str:
        said = words[found[0].lower()]
        return said[0].upper() + said[1:] if found[0][0].isupper() else said

    return _WORDS.sub(instead, sentence)


def kind_words(number: int, *, cutting_type: CuttingType | str | None) -> str:
    """Return how many of which type: "96 semi-ripe", "40 grafts", or only the number."""
    kind = str(cutting_type or "")
    if kind in _BY_TYPE and number != 1:
        kind += "s"
    return f"{number:,} {kind}".rstrip()
