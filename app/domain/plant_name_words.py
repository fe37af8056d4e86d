"""The small words of botanical names: ranks, qualifiers, Group and grex, authors, the letter x.

The International Code of Nomenclature for algae, fungi, and plants (ICN, 2018) is cited by
article FROM MEMORY.
"""

import re
from typing import Final

RANKS: Final = {
    typed: rank
    for rank, forms in {
        "subsp.": "subsp. subsp ssp. ssp",
        "var.": "var. var",
        "subvar.": "subvar. subvar",
        "f.": "f. f fo. forma",
        "subf.": "subf. subf",
        "nothosubsp.": "nothosubsp. nothosubsp nothossp.",
        "nothovar.": "nothovar. nothovar",
        "nothof.": "nothof. nothof",
    }.items()
    for typed in forms.split()
}
"""Each rank as it may be typed, with the form it is kept in."""

QUALIFIERS: Final = {
    "sp.": "sp.",
    "sp": "sp.",
    "spec.": "sp.",
    "spp.": "sp.",
    "spp": "sp.",
    "cf.": "cf.",
    "cf": "cf.",
    "aff.": "aff.",
    "aff": "aff.",
}
NOT_NAMED: Final = "sp."
GROUP_WORDS: Final = frozenset({"group", "gp", "gp.", "grp", "grp."})
GREX_WORDS: Final = frozenset({"g.", "gx", "gx.", "grex"})
SIGN_LETTERS: Final = frozenset("×xXхХ")

_ORCHID_GENERA: Final = (
    "Brassocattleya Calanthe Cattleya Coelogyne Cymbidium Dendrobium Disa Epidendrum Laelia "
    "Laeliocattleya Lycaste Masdevallia Miltonia Miltoniopsis Odontoglossum Oncidium "
    "Paphiopedilum Phalaenopsis Phragmipedium Pleione Rhyncholaelia Vanda Zygopetalum"
)
ORCHIDS: Final = frozenset(_ORCHID_GENERA.split())
"""Genera in which a grex is usual (common practice, no source); for others it is asked about."""

_LETTERS: Final = "A-Za-zÀ-ÖØ-Þà-öø-þ"
_LATIN: Final = re.compile(
    rf"[{_LETTERS}]{{2,}}(?:-[{_LETTERS}]+)*|[{_LETTERS}]-[{_LETTERS}-]*[{_LETTERS}]"
)
_GREEK_X: Final = re.compile(r"x(anth|al|en|er|im|iph|yl|yr|ys)", re.IGNORECASE)
_X_BEFORE_CAPITAL: Final = re.compile(rf"[xX]-?(?=[A-ZÀ-ÖØ-Þ][{_LETTERS}])")
_ABBREVIATED: Final = re.compile(
    r"(?:[^\W\d_](?:[^\W\d_]|')*\.-?)*[^\W\d_](?:[^\W\d_]|')*\.(?:f\.)?"
)
_JOINING: Final = frozenset({"&", "ex", "et"})
_SON: Final = frozenset({"f.", "fil."})


def rank_of(word: str) -> str:
    """Return the rank a word stands for as it is kept ("ssp" gives "subsp."), or ""."""
    return RANKS.get(word.casefold(), "")


def is_latin_word(word: str) -> bool:
    """Return whether the word can be a genus or a Latin epithet: two or more Latin letters."""
    return _LATIN.fullmatch(word) is not None


def is_small(word: str) -> bool:
    """Return whether the word begins with a small letter."""
    return word[:1].islower()


def without_x_before_capital(word: str) -> str:
    """Return "Fatshedera" for "xFatshedera", where x can only be a sign; else the word."""
    return _X_BEFORE_CAPITAL.sub("", word, count=1) if _X_BEFORE_CAPITAL.match(word) else word


def may_hide_sign(word: str) -> bool:
    """Return whether a word begins with an x that could be a hybrid sign run on.

    Epithets from the Greek, such as xanthina or xylosteum, begin with x of themselves.
    """
    return word[:1] in "xX" and _GREEK_X.match(word) is None


def is_author(words: tuple[str, ...]) -> bool:
    """Return whether the words are a citation of authors, such as "(Thunb.) Siebold & Zucc.".

    Something must be abbreviated or bracketed, and a name in full must stand beside a joining
    word or after a bracket: "J.C. van Tol" and "Mrs. Popple" are not taken for authors.
    """
    if not words or words[-1] in _JOINING or words[0].strip("()") in _JOINING | _SON:
        return False
    if not any(_is_abbreviated(word.strip("()")) or word.startswith("(") for word in words):
        return False
    return _brackets_match(words) and all(
        _is_author_word(words, position) for position in range(len(words))
    )


def _is_author_word(words: tuple[str, ...], position: int) -> bool:
    word = words[position].strip("()")
    if word in _JOINING | _SON or _is_abbreviated(word):
        return True
    if not (word[:1].isupper() and is_latin_word(word)):
        return False
    neighbours = words[max(0, position - 1) : position + 2]
    bracketed = words[position].startswith("(") and words[position].endswith(")")
    after_bracket = position > 0 and words[position - 1].endswith(")")
    return bracketed or after_bracket or any(near in _JOINING for near in neighbours)


def _is_abbreviated(word: str) -> bool:
    return word[:1].isupper() and _ABBREVIATED.fullmatch(word) is not None


def _brackets_match(words: tuple[str, ...]) -> bool:
    text = " ".join(words)
    return re.fullmatch(r"[^()]*(?:\([^()]+\)[^()]*)?", text) is not None
