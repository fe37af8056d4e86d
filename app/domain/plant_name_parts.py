"""A plant name in its parts, and the two ways of showing it: one plain line, and typed pieces."""

from dataclasses import dataclass
from enum import StrEnum
from typing import Final, Self

OPEN_QUOTE: Final = "‘"
CLOSE_QUOTE: Final = "’"
SIGN: Final = "×"
GRAFT_SIGN: Final = "+"


class HybridKind(StrEnum):
    """Where the hybrid sign stands, if anywhere."""

    NONE = ""
    SPECIES = "species"
    GENUS = "genus"
    GRAFT_CHIMAERA = "graft-chimaera"
    FORMULA = "formula"


@dataclass(frozen=True, kw_only=True)
class NamePiece:
    """A run of the name's letters with its own spaces, in italics or upright."""

    text: str
    italic: bool = False


@dataclass(frozen=True, kw_only=True)
class NamePart:
    """One part of a name beside the word for it, to show a person how the name was read."""

    word: str
    text: str


_HYBRID_WORDS: Final = {
    HybridKind.NONE: "",
    HybridKind.SPECIES: "between species",
    HybridKind.GENUS: "between genera",
    HybridKind.GRAFT_CHIMAERA: "graft-chimaera",
    HybridKind.FORMULA: "a cross of two parents",
}


@dataclass(frozen=True, kw_only=True)
class PlantName:
    """A name in its parts, each as it is stored: no quotation marks, no word Group, no "g.".

    `infraspecific` holds rank and epithet ("var. dissectum"). `unplaced` is what was typed and
    could not be told: a cultivar without its marks, a selling name, an epithet without its rank.
    For a formula the parts are those of the first parent, whose own sign is `parent_hybrid`. The
    trade designation is no part of the name and appears neither in `plain` nor in `pieces`.
    """

    genus: str
    hybrid: HybridKind = HybridKind.NONE
    species: str = ""
    infraspecific: str = ""
    unplaced: str = ""
    group: str = ""
    grex: str = ""
    cultivar: str = ""
    qualifier: str = ""
    trade_designation: str = ""
    parent_hybrid: HybridKind = HybridKind.NONE
    second_parent: Self | None = None

    @property
    def plain(self) -> str:
        """The name in one line with straight quotation marks, as it is stored and found."""
        words = [text for text, _ in self._words(quotes=("'", "'"))]
        return " ".join(words + self._parent_in_plain())

    @property
    def pieces(self) -> tuple[NamePiece, ...]:
        """The name as printed: genus and Latin epithets in italics, all else upright.

        Cultivar epithets stand in single typographic quotation marks (ICNCP Art. 14, from
        memory). The texts joined give the whole name.
        """
        pieces = _joined(self._words(quotes=(OPEN_QUOTE, CLOSE_QUOTE)))
        if self.second_parent is None:
            return pieces
        return (*pieces, NamePiece(text=f" {SIGN} "), *self.second_parent.pieces)

    @property
    def parts(self) -> tuple[NamePart, ...]:
        """The parts that the name has, each with its word, in the order they are written."""
        second = "" if self.second_parent is None else self.second_parent.plain
        every = (
            ("genus", self.genus),
            ("hybrid", _HYBRID_WORDS[self.hybrid]),
            ("qualifier", self.qualifier),
            ("species", self.species),
            ("lower rank", self.infraspecific),
            ("not told apart", self.unplaced),
            ("grex", self.grex),
            ("Group", self.group),
            ("cultivar", self.cultivar),
            ("second parent", second),
            ("selling name", self.trade_designation),
        )
        return tuple(NamePart(word=word, text=text) for word, text in every if text)

    def _parent_in_plain(self) -> list[str]:
        return [] if self.second_parent is None else [SIGN, self.second_parent.plain]

    def _words(self, *, quotes: tuple[str, str]) -> list[tuple[str, bool]]:
        """Return the parts in the order they are written, each with whether it is in italics."""
        words = [*self._latin(), *((word, False) for word in self._upright_before_cultivar())]
        if self.cultivar:
            epithet = self.cultivar if quotes[0] == "'" else self.cultivar.replace("'", CLOSE_QUOTE)
            words.append((f"{quotes[0]}{epithet}{quotes[1]}", False))
        return words

    def _latin(self) -> list[tuple[str, bool]]:
        sign = self.parent_hybrid if self.hybrid is HybridKind.FORMULA else self.hybrid
        before_genus = {HybridKind.GENUS: SIGN, HybridKind.GRAFT_CHIMAERA: GRAFT_SIGN}.get(sign, "")
        before_species = SIGN if sign is HybridKind.SPECIES else ""
        rank_and_epithet = enumerate(self.infraspecific.split())
        words = [
            (before_genus, False),
            (self.genus, True),
            (self.qualifier, False),
            (before_species, False),
            (self.species, True),
            *((word, position % 2 == 1) for position, word in rank_and_epithet),
        ]
        return [word for word in words if word[0]]

    def _upright_before_cultivar(self) -> list[str]:
        group = f"{self.group} Group" if self.group else ""
        grex = f"{self.grex} g." if self.grex else ""
        bracketed = f"({group})" if group and self.cultivar else group
        return [word for word in (self.unplaced, grex, bracketed) if word]


def _joined(words: list[tuple[str, bool]]) -> tuple[NamePiece, ...]:
    """Return the words as pieces; neighbours alike are one, and a space is upright if it can be."""
    pieces: list[NamePiece] = []
    for text, italic in words:
        last = pieces[-1] if pieces else None
        if last is None:
            pieces.append(NamePiece(text=text, italic=italic))
        elif last.italic == italic:
            pieces[-1] = NamePiece(text=f"{last.text} {text}", italic=italic)
        elif italic:
            pieces[-1] = NamePiece(text=f"{last.text} ")
            pieces.append(NamePiece(text=text, italic=True))
        else:
            pieces.append(NamePiece(text=f" {text}"))
    return tuple(pieces)
