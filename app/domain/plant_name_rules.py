"""What the Codes ask of an epithet, and how far a typed one is put right.

The International Code of Nomenclature for Cultivated Plants (ICNCP, 9th edition, 2016) is cited
by article FROM MEMORY. Rules that bind only epithets new since 1996 lead to a question, never to
a refusal: the year of an epithet is not known here. Latin-looking epithets are not judged.
"""

import re
import unicodedata
from enum import StrEnum
from typing import Final

from app.domain.problems import NotAccepted

FIELD: Final = "plant"
LONGEST_EPITHET: Final = 30
"""Letters of a new cultivar epithet, spaces and quotation marks not counted."""

_SYMBOLS: Final = "',-.!/"
_SHORT_CAPITALS: Final = 3
_ROMAN: Final = re.compile(r"X{0,3}(IX|IV|V?I{0,3})")
_ELISION: Final = re.compile(r"[dln]'\w|'n'?$|n'$|'t$")
_SMALL_WORDS: Final = (
    "a à af al am an and at au auf aus aux av by da das de degli dei del della den der des di do "
    "dos du e ed een el en et für for from het i il im in la las le les lo los mit no o och of "
    "og on op or os ou par pour sans sous sur ten ter the to und van vom von with y zu zum zur"
)
_PARTICLES: Final = frozenset(_SMALL_WORDS.split())
_BARRED: Final = (
    "cultivar cultivars variety varieties form forms group groups grex hybrid hybrids mixture "
    "mixtures selection selections series sport sports strain strains"
)
_WORDS_NOT_FOR_NEW: Final = frozenset(_BARRED.split())


class NameStatus(StrEnum):
    """How a typed name was taken: as it is, put right, or with a question to the person."""

    OK = "ok"
    NORMALISE = "normalise"
    WARN = "warn"


class Remarks:
    """What is said about one typed name while it is read, and the gravest of it."""

    def __init__(self) -> None:
        self.status = NameStatus.OK
        self.sentences: list[str] = []

    def put_right(self, sentence: str) -> None:
        """Note something that was changed and needs no question."""
        if self.status is NameStatus.OK:
            self.status = NameStatus.NORMALISE
        self.sentences.append(sentence)

    def ask(self, sentence: str) -> None:
        """Note something that a person has to look at."""
        self.status = NameStatus.WARN
        self.sentences.append(sentence)


def refuse(sentence: str) -> NotAccepted:
    """Return the refusal of a name, to be raised, with what to do instead."""
    return NotAccepted.at(FIELD, sentence)


def read_epithet(typed: str, *, genus: str, remarks: Remarks) -> str:
    """Return a cultivar epithet with its capitals put right (ICNCP Art. 14 and 21).

    Raises:
        NotAccepted: it is empty, or holds symbols that no epithet may hold.
    """
    epithet = " ".join(typed.split())
    if not any(letter.isalnum() for letter in epithet):
        raise refuse("Write the cultivar epithet between the quotation marks, or leave them out.")
    check_symbols(epithet)
    epithet = put_capitals(_without_capitals_only(epithet, remarks=remarks), remarks=remarks)
    _question_new_epithet(epithet, genus=genus, remarks=remarks)
    return epithet


def put_capitals(epithet: str, *, remarks: Remarks) -> str:
    """Return the words each with a capital first, particles after the first word left small."""
    words = [
        word if number and _may_be_small(word) else _capital(word)
        for number, word in enumerate(epithet.split())
    ]
    capitals = unicodedata.normalize("NFC", " ".join(words))
    if capitals != epithet:
        remarks.put_right(f"Each word of an epithet begins with a capital: {capitals}.")
    return capitals


def letters_counted(epithet: str) -> int:
    """Return how many characters count towards the limit of 30: all but spaces."""
    return sum(1 for letter in epithet if not letter.isspace())


def is_capitals_only(text: str) -> bool:
    """Return whether the text has at least two letters and none of them is small."""
    letters = [letter for letter in text if letter.isalpha()]
    return len(letters) > 1 and all(letter.isupper() for letter in letters)


def check_symbols(epithet: str) -> None:
    """Pass an epithet whose signs are all permitted.

    Raises:
        NotAccepted: another sign stands in it, or more than one exclamation mark.
    """
    for letter in epithet:
        if not (is_letter(letter) or letter.isdecimal() or letter in _SYMBOLS or letter == " "):
            raise refuse(
                f"Take {shown(letter)} out of the epithet: only letters, digits and {_SYMBOLS} "
                "may stand in it."
            )
    if epithet.count("!") > 1:
        raise refuse("Leave only one exclamation mark in the epithet.")


def shown(text: str) -> str:
    """Return typed text in quotation marks for a sentence; signs that cannot be shown become ?."""
    return f"“{''.join(sign if sign.isprintable() else '?' for sign in text)}”"


def is_letter(sign: str) -> bool:
    """Return whether the sign is a letter, or a mark that stands on one."""
    return sign.isalpha() or unicodedata.category(sign).startswith("M")


def _without_capitals_only(epithet: str, *, remarks: Remarks) -> str:
    """Return an epithet typed all in capitals as words; shorter ones may be initials and stay."""
    if not is_capitals_only(epithet):
        return epithet
    words = epithet.split()
    if sum(letter.isalpha() for letter in epithet) > _SHORT_CAPITALS:
        words = [_from_capitals(word, first=not number) for number, word in enumerate(words)]
    smaller = " ".join(words)
    remarks.ask(f"The epithet was typed all in capitals. Is it {smaller}?")
    return smaller


def _from_capitals(word: str, *, first: bool) -> str:
    if _ROMAN.fullmatch(word):
        return word
    small = word.lower()
    if not first and small in _PARTICLES:
        return small
    return "-".join(_capital(part) for part in small.split("-"))


def _may_be_small(word: str) -> bool:
    return word in _PARTICLES or _ELISION.match(word) is not None


def _capital(word: str) -> str:
    return word[:1].upper() + word[1:]


def _question_new_epithet(epithet: str, *, genus: str, remarks: Remarks) -> None:
    """Ask about what no epithet new since 1996 may be (ICNCP Art. 21)."""
    letters = [letter for letter in epithet if letter.isalnum()]
    words = {word.strip(_SYMBOLS).casefold() for word in epithet.split()}
    if all(letter.isdecimal() for letter in letters):
        remarks.ask("A new epithet may not be a number only. Is it an older name?")
    elif len(letters) == 1:
        remarks.ask("A new epithet may not be a single letter. Is it an older name?")
    if epithet.casefold() == genus.casefold():
        remarks.ask("A new epithet may not be the name of its own genus. Is it an older name?")
    if banned := sorted(words & _WORDS_NOT_FOR_NEW):
        remarks.ask(f"A new epithet may not hold the word {banned[0]}. Is it an older name?")
    if letters_counted(epithet) > LONGEST_EPITHET:
        remarks.ask(
            f"A new epithet has at most {LONGEST_EPITHET} letters, this one has "
            f"{letters_counted(epithet)}. Is it written as it should be?"
        )
