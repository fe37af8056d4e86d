"""The Latin part of a plant name, read word by word: sign, genus, species, ranks."""

from collections.abc import Callable
from typing import Final

from app.domain.plant_name_parts import GRAFT_SIGN, SIGN, HybridKind
from app.domain.plant_name_rules import Remarks, is_capitals_only, refuse, shown
from app.domain.plant_name_words import (
    GREX_WORDS,
    GROUP_WORDS,
    NOT_NAMED,
    QUALIFIERS,
    SIGN_LETTERS,
    is_author,
    is_latin_word,
    is_small,
    may_hide_sign,
    rank_of,
    without_x_before_capital,
)

_NEEDS_GENUS: Final = "Begin with the genus, in letters only, such as Lavandula."
_RUN_ON: Final = "Is the x in front a hybrid sign? Then write a space after it."


class LatinHead:
    """What has been read so far, and in `words` what is still to be read."""

    def __init__(self, *, words: list[str], remarks: Remarks) -> None:
        self.words = words
        self.remarks = remarks
        self.hybrid = HybridKind.NONE
        self.genus = ""
        self.qualifier = ""
        self.species = ""
        self.ranks: list[str] = []

    @property
    def infraspecific(self) -> str:
        """The ranks with their epithets in one line, or ""."""
        return " ".join(self.ranks)

    def follows(self, test: Callable[[str], bool], *, at: int = 0) -> bool:
        """Return whether a word stands `at` places ahead and passes the test."""
        return len(self.words) > at and test(self.words[at])


def read_head(line: str, *, remarks: Remarks) -> LatinHead:
    """Return the Latin parts of a name; `words` then holds what follows them.

    Raises:
        NotAccepted: there is no genus in full, or a sign, rank or qualifier has nothing after it.
    """
    head = LatinHead(words=_out_of_capitals(line.split(), remarks=remarks), remarks=remarks)
    _read_first_sign(head)
    _move_qualifier(head)
    _read_genus(head)
    _read_qualifier(head)
    _read_species(head)
    _read_ranks(head)
    if GRAFT_SIGN in head.words:
        raise refuse(f"Put the + of a graft-chimaera before its genus: + {head.genus}.")
    return head


def _out_of_capitals(words: list[str], *, remarks: Remarks) -> list[str]:
    first = next((word for word in words if word not in SIGN_LETTERS), "")
    if not (is_capitals_only(first) and is_latin_word(first)):
        return words
    remarks.put_right("Capitals are kept for the first letter of the genus and of epithets.")
    return [word.capitalize() if is_capitals_only(word) else word for word in words]


def _read_first_sign(head: LatinHead) -> None:
    if head.follows(lambda word: word == GRAFT_SIGN):
        head.hybrid = HybridKind.GRAFT_CHIMAERA
        head.words.pop(0)
    elif head.follows(lambda word: word in SIGN_LETTERS):
        _keep_sign(head, HybridKind.GENUS)
    elif head.follows(lambda word: without_x_before_capital(word) != word):
        head.words[0:1] = ["x", without_x_before_capital(head.words[0])]
        _keep_sign(head, HybridKind.GENUS)


def _keep_sign(head: LatinHead, kind: HybridKind) -> None:
    """Take the sign off the words and note where it stands."""
    typed = head.words.pop(0)
    if not head.follows(lambda word: word not in SIGN_LETTERS):
        raise refuse(f"Write what follows the sign {SIGN}: the species, or the second parent.")
    if typed != SIGN:
        head.remarks.put_right(f"The letter x became the hybrid sign {SIGN}.")
    if head.hybrid is HybridKind.NONE:
        head.hybrid = kind
    else:
        head.remarks.put_right("One hybrid sign is enough: it stands before the genus.")


def _move_qualifier(head: LatinHead) -> None:
    if head.follows(lambda word: word.casefold() in QUALIFIERS) and len(head.words) > 1:
        head.words[0], head.words[1] = head.words[1], head.words[0]
        head.remarks.put_right("The qualifier stands after the genus.")


def _read_genus(head: LatinHead) -> None:
    typed = head.words.pop(0) if head.words else ""
    if typed.endswith(".") or (len(typed) == 1 and typed.isalpha()):
        raise refuse(f"Write the genus in full: which genus is {shown(typed)}?")
    if not is_latin_word(typed):
        raise refuse(_NEEDS_GENUS)
    head.genus = typed[0].upper() + typed[1:].lower()
    if head.genus != typed:
        head.remarks.put_right(f"A genus begins with a capital: {head.genus}.")
    if may_hide_sign(head.genus):
        head.remarks.ask(_RUN_ON)


def _read_qualifier(head: LatinHead) -> None:
    if not head.follows(lambda word: word.casefold() in QUALIFIERS):
        return
    typed = head.words.pop(0)
    head.qualifier = QUALIFIERS[typed.casefold()]
    if typed != head.qualifier:
        head.remarks.put_right(f"The qualifier is kept as {head.qualifier}")
    if head.qualifier != NOT_NAMED and not head.words:
        raise refuse(f"Write the species that follows {head.qualifier}")


def _read_species(head: LatinHead) -> None:
    if head.qualifier == NOT_NAMED:
        return
    if head.follows(lambda word: word in SIGN_LETTERS):
        _keep_sign(head, HybridKind.SPECIES)
        _take_species(head)
    elif head.follows(lambda word: without_x_before_capital(word) != word and is_small(word)):
        head.words[0:1] = ["x", without_x_before_capital(head.words[0])]
        _keep_sign(head, HybridKind.SPECIES)
        _take_species(head)
    elif head.follows(is_small) and not _is_name_of_group_or_grex(head):
        _take_species(head)
    elif head.qualifier:
        raise refuse(f"Write the species in small letters after {head.qualifier}")


def _is_name_of_group_or_grex(head: LatinHead) -> bool:
    return any(
        head.follows(lambda word: word.casefold() in GROUP_WORDS | GREX_WORDS, at=at)
        for at in (0, 1)
    )


def _take_species(head: LatinHead) -> None:
    typed = head.words.pop(0)
    if rank_of(typed) and not is_latin_word(typed):
        raise refuse(f"Write the species before {typed}")
    if not is_latin_word(typed):
        raise refuse(f"Write the species in full and in letters only: what is {shown(typed)}?")
    head.species = typed.lower()
    if head.species != typed:
        head.remarks.ask(f"A species is written with a small letter: {head.species}?")
    if may_hide_sign(head.species):
        head.remarks.ask(_RUN_ON)


def _read_ranks(head: LatinHead) -> None:
    while head.species and (position := _next_rank(head)) is not None:
        authors = tuple(head.words[:position])
        if authors and not is_author(authors):
            raise refuse(f"Take {shown(' '.join(authors))} out from before the rank.")
        if authors:
            head.remarks.put_right("Authors are no part of the name and were left out.")
        del head.words[:position]
        _take_rank(head)


def _next_rank(head: LatinHead) -> int | None:
    """Return where the next rank stands. The f. of an author's son is followed by no epithet."""
    for position, word in enumerate(head.words):
        if not (rank_of(word) and is_small(word)):
            continue
        following = head.words[position + 1 : position + 2]
        if (
            rank_of(word) != "f."
            or position == 0
            or any(is_small(next_word) and not rank_of(next_word) for next_word in following)
        ):
            return position
    return None


def _take_rank(head: LatinHead) -> None:
    typed = head.words.pop(0)
    rank = rank_of(typed)
    if not head.follows(is_latin_word):
        raise refuse(
            f"Write the epithet that follows {rank}, or leave {rank} out: a cultivar has no rank."
        )
    epithet = head.words.pop(0)
    if typed != rank:
        head.remarks.put_right(f"The rank is kept as {rank}")
    if epithet != epithet.lower():
        head.remarks.ask(f"An epithet after {rank} is written small. Or is it a cultivar?")
    head.ranks.extend((rank, epithet.lower()))
