"""What stands between the Latin part of a name and its cultivar: Group, grex, and what is left.

What cannot be told (a cultivar without marks, a selling name, an epithet without its rank) is
kept as it is typed and asked about; what is no name at all is refused.
"""

import re
from dataclasses import dataclass
from typing import Final

from app.domain.plant_name_heads import LatinHead
from app.domain.plant_name_lines import CutLine
from app.domain.plant_name_rules import (
    Remarks,
    check_symbols,
    is_capitals_only,
    put_capitals,
    refuse,
    shown,
)
from app.domain.plant_name_words import (
    GREX_WORDS,
    GROUP_WORDS,
    ORCHIDS,
    SIGN_LETTERS,
    is_author,
    is_latin_word,
    is_small,
)

_BRACKETED_GROUP: Final = re.compile(r"\(\s*([^()]*?)\s*\b(group|gp|grp)\b\.?\s*\)", re.IGNORECASE)


@dataclass(frozen=True, kw_only=True)
class GroupCut:
    """A line without its bracketed Group; `typed` is the Group's name and word as typed."""

    before: str
    after: str
    bracketed_cultivar: bool
    typed: tuple[str, str] | None = None


@dataclass(frozen=True, kw_only=True)
class Rest:
    """What followed the Latin part, each part "" where there is none."""

    species: str = ""
    unplaced: str = ""
    group: str = ""
    grex: str = ""
    trade_designation: str = ""


def take_bracketed_groups(cut: CutLine, *, remarks: Remarks) -> GroupCut:
    """Return the line with "(Lacecap Group)" taken out of it, wherever it stood."""
    found = _BRACKETED_GROUP.search(cut.before) or _BRACKETED_GROUP.search(cut.after)
    if found is None:
        return GroupCut(before=cut.before, after=cut.after, bracketed_cultivar=cut.bracketed)
    stood_behind = found.string is cut.after and found.string is not cut.before
    if stood_behind or cut.cultivar is None:
        remarks.put_right("A Group stands in brackets only before a cultivar epithet.")
    without = " ".join(f"{found.string[: found.start()]} {found.string[found.end() :]}".split())
    return GroupCut(
        before=cut.before if stood_behind else without,
        after=without if stood_behind else cut.after,
        bracketed_cultivar=cut.bracketed,
        typed=(found[1], found[2]),
    )


def read_rest(head: LatinHead, *, groups: GroupCut, has_cultivar: bool, remarks: Remarks) -> Rest:
    """Return what followed the Latin part, with everything typed accounted for.

    Raises:
        NotAccepted: something is left that can be no part of a name.
    """
    words, grex = _take_grex(tuple(head.words), genus=head.genus, remarks=remarks)
    words, group = _take_group(words, groups=groups, has_cultivar=has_cultivar, remarks=remarks)
    behind = _behind_cultivar(groups.after, remarks=remarks)
    words = _without_authors(words, remarks=remarks)
    if not words:
        return Rest(group=group, grex=grex, trade_designation=behind)
    typed = " ".join(words)
    _check_left(typed)
    if has_cultivar and not behind and (groups.bracketed_cultivar or is_capitals_only(typed)):
        return Rest(group=group, grex=grex, trade_designation=_selling_name(typed, remarks=remarks))
    if group or grex:
        raise refuse(f"Take {shown(typed)} out of the name, or say what it is in the notes.")
    if has_cultivar and _can_be_species(head, words):
        remarks.put_right(
            f"A species is written with a small letter: {typed.lower()}. If {typed} is a grex or "
            "a second cultivar, correct the name."
        )
        return Rest(species=typed.lower(), trade_designation=behind)
    return Rest(unplaced=_ask_what_it_is(words, remarks=remarks), trade_designation=behind)


def _take_grex(
    words: tuple[str, ...], *, genus: str, remarks: Remarks
) -> tuple[tuple[str, ...], str]:
    position = _first_of(words, GREX_WORDS)
    if position is None:
        return words, ""
    if position == 0:
        raise refuse("Write the name of the grex before g.")
    if words[position] != "g.":
        remarks.put_right("The word for a grex is kept as g.")
    if genus not in ORCHIDS:
        remarks.ask(f"A grex is used for orchids only. Is {genus} an orchid?")
    return words[position + 1 :], _registered(words[:position], remarks=remarks)


def _take_group(
    words: tuple[str, ...], *, groups: GroupCut, has_cultivar: bool, remarks: Remarks
) -> tuple[tuple[str, ...], str]:
    """Return the words without the Group, and its name with capitals (ICNCP Art. 3 and 15)."""
    if groups.typed is not None:
        name, word = groups.typed
        named: tuple[str, ...] = tuple(name.split())
        left = words
    else:
        position = _first_of(words, GROUP_WORDS)
        if position is None:
            return words, ""
        named, word, left = words[:position], words[position], words[position + 1 :]
        named = _without_leading_authors(named, remarks=remarks)
        if has_cultivar:
            remarks.put_right("A Group stands in brackets before a cultivar epithet.")
    if not named:
        raise refuse("Write the name of the Group before the word Group.")
    if is_small(word) or is_small(named[0]):
        remarks.ask("A Group is written with capitals. Is this one meant?")
    if word.rstrip(".").capitalize() != "Group":
        remarks.put_right("The word Group is written in full.")
    return left, _registered(named, remarks=remarks)


def _registered(words: tuple[str, ...], *, remarks: Remarks) -> str:
    """Return the name of a Group or grex with its capitals."""
    name = " ".join(words)
    check_symbols(name)
    return put_capitals(name, remarks=remarks)


def _behind_cultivar(typed: str, *, remarks: Remarks) -> str:
    """Return a selling name in capitals that stands behind the cultivar epithet, or "".

    Raises:
        NotAccepted: something else stands there.
    """
    if not typed:
        return ""
    if not is_capitals_only(typed) or any(sign in typed for sign in "()×+"):
        raise refuse(f"Take {shown(typed)} out of the name: nothing follows the cultivar epithet.")
    return _selling_name(typed, remarks=remarks)


def _selling_name(typed: str, *, remarks: Remarks) -> str:
    """Return a trade designation, which is no part of the name (ICNCP Art. 13, from memory)."""
    remarks.ask(f"{typed} is taken as a selling name, which is no part of the name. Is it one?")
    return typed


def _without_authors(words: tuple[str, ...], *, remarks: Remarks) -> tuple[str, ...]:
    if not is_author(words):
        return words
    remarks.put_right("Authors are no part of the name and were left out.")
    return ()


def _without_leading_authors(words: tuple[str, ...], *, remarks: Remarks) -> tuple[str, ...]:
    for end in range(len(words) - 1, 0, -1):
        if is_author(words[:end]):
            _without_authors(words[:end], remarks=remarks)
            return words[end:]
    return words


def _first_of(words: tuple[str, ...], wanted: frozenset[str]) -> int | None:
    return next((at for at, word in enumerate(words) if word.casefold() in wanted), None)


def _check_left(typed: str) -> None:
    """Pass words that could be part of a name.

    Raises:
        NotAccepted: brackets or signs stand among them, or several words in small letters.
    """
    if "(" in typed or ")" in typed:
        raise refuse("Take out what stands in brackets: only a Group does, as (Lacecap Group).")
    words = typed.split()
    if any(word in SIGN_LETTERS or word == "+" for word in words):
        raise refuse(f"Put the hybrid sign before the genus or before the species, not in {typed}.")
    check_symbols(typed)
    if not words[0][:1].isupper() and not is_latin_word(words[0]):
        raise refuse(f"Take {shown(typed)} out, or put a cultivar in single quotation marks.")
    if len(words) > 1 and not any(word[:1].isupper() for word in words):
        raise refuse(f"Put the cultivar in single quotation marks, or take {shown(typed)} out.")


def _can_be_species(head: LatinHead, words: tuple[str, ...]) -> bool:
    if head.species or head.qualifier or head.genus in ORCHIDS or len(words) != 1:
        return False
    return is_latin_word(words[0])


def _ask_what_it_is(words: tuple[str, ...], *, remarks: Remarks) -> str:
    typed = " ".join(words)
    if not words[0][:1].isupper():
        remarks.ask(
            f"Is {typed} a cultivar? Then put it in single quotation marks. If it is below the "
            "species, write its rank in front: subsp., var. or f."
        )
    elif is_capitals_only(typed):
        remarks.ask(f"Is {typed} a selling name? It has a field of its own.")
    else:
        remarks.ask(
            f"Is {typed} a cultivar? Then put it in single quotation marks. If it is the species, "
            f"write it small; a selling name has a field of its own."
        )
    return typed
