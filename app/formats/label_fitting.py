"""Fitting words into the box they have on a label: shrunk, wrapped, and at the last cut short.

Nothing is ever written smaller than SMALLEST_PT. Its small letters are 1.1 mm high in the typeface
used: above 0.2 degrees of the eye's view up to 30 cm away, from where reading is fluent (Legge and
Bigelow 2011, Journal of Vision 11(5):8, from memory), so three times what 10 cm ask for.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import Final, Protocol, TypeAlias

SMALLEST_PT: Final = 6.0
LEADING: Final = 1.2
"""From one line to the next, in sizes of the writing."""
_STEP_PT: Final = 0.5
_CUT: Final = "…"
# Rounding while measuring must not push a word that just fits to the next line.
_HAIR_PT: Final = 0.01


class Face(StrEnum):
    """The faces a label is written in."""

    UPRIGHT = "upright"
    ITALIC = "italic"
    BOLD = "bold"


@dataclass(frozen=True, kw_only=True)
class Run:
    """Letters of one face, next to each other."""

    text: str
    face: Face = Face.UPRIGHT


Line: TypeAlias = tuple[Run, ...]


class Measure(Protocol):
    """Gives the width of letters in a face at a size of 1 point, in points."""

    def __call__(self, text: str, *, face: Face) -> float:
        """Return the width."""
        ...


@dataclass(frozen=True, kw_only=True)
class Fitted:
    """Lines that fit, the size in points they are written in, and whether some of it was cut."""

    lines: tuple[Line, ...]
    size_pt: float
    cut: bool = False

    @property
    def height_pt(self) -> float:
        """How much room they take from the first line's top to the last one's bottom."""
        return len(self.lines) * self.size_pt * LEADING


def fit(
    runs: Sequence[Run], *, width_pt: float, height_pt: float, largest_pt: float, measure: Measure
) -> Fitted:
    """Return the runs in the largest size, from `largest_pt` down, that fits the box.

    What does not fit even in the smallest size is cut, and an ellipsis says so; one line of what
    is not blank is given in any case.
    """
    words = [_Word.of(word, measure=measure) for word in _words(runs)]
    size = max(largest_pt, SMALLEST_PT)
    while True:
        most = int((height_pt + _HAIR_PT) / (size * LEADING))
        whole = all(word.width * size <= width_pt + _HAIR_PT for word in words)
        lines = list(_wrapped(words, room=width_pt / size, measure=measure))
        if len(lines) <= most and (whole or size <= SMALLEST_PT):
            return Fitted(lines=tuple(lines), size_pt=size)
        if size <= SMALLEST_PT:
            kept = lines[: max(1, most)]
            if len(kept) < len(lines):
                kept[-1] = _cut(kept[-1], room=width_pt / size, measure=measure)
            return Fitted(lines=tuple(kept), size_pt=size, cut=len(kept) < len(lines))
        size = max(SMALLEST_PT, size - _STEP_PT)


@dataclass(frozen=True, kw_only=True)
class _Word:
    """A word with its width at 1 point, and that of the space before it."""

    line: Line
    width: float

    @classmethod
    def of(cls, line: Line, *, measure: Measure) -> "_Word":
        return cls(line=line, width=_width(line, measure=measure))


def _words(runs: Sequence[Run]) -> Iterator[Line]:
    word: list[Run] = []
    for run in runs:
        for place, text in enumerate(run.text.split(" ")):
            if place and word:
                yield tuple(word)
                word = []
            if text:
                word.append(Run(text=text, face=run.face))
    if word:
        yield tuple(word)


def _wrapped(words: Sequence[_Word], *, room: float, measure: Measure) -> Iterator[Line]:
    line: list[Run] = []
    used = 0.0
    for word in words:
        space = measure(" ", face=Face.UPRIGHT) if line else 0.0
        if line and used + space + word.width > room + _HAIR_PT:
            yield tuple(line)
            line, used, space = [], 0.0, 0.0
        pieces = [word]
        if word.width > room + _HAIR_PT:
            pieces = list(_broken(word, room=room, measure=measure))
            for piece in pieces[:-1]:
                yield piece.line
        if line:
            line.append(Run(text=" "))
        line.extend(pieces[-1].line)
        used += space + pieces[-1].width
    if line:
        yield tuple(line)


def _broken(word: _Word, *, room: float, measure: Measure) -> Iterator[_Word]:
    """Give a word that is wider than a line in parts that are not, a letter at the least."""
    part: list[Run] = []
    used = 0.0
    for run in word.line:
        for letter in run.text:
            width = measure(letter, face=run.face)
            if part and used + width > room:
                yield _Word(line=_joined(part), width=used)
                part, used = [], 0.0
            part.append(Run(text=letter, face=run.face))
            used += width
    yield _Word(line=_joined(part), width=used)


def _cut(line: Line, *, room: float, measure: Measure) -> Line:
    letters = [Run(text=letter, face=run.face) for run in line for letter in run.text]
    while letters and _width((*letters, Run(text=_CUT)), measure=measure) > room:
        letters.pop()
    return _joined([*letters, Run(text=_CUT)])


def _joined(letters: Sequence[Run]) -> Line:
    runs: list[Run] = []
    for letter in letters:
        if runs and runs[-1].face is letter.face:
            runs[-1] = Run(text=runs[-1].text + letter.text, face=letter.face)
        else:
            runs.append(letter)
    return tuple(runs)


def _width(line: Sequence[Run], *, measure: Measure) -> float:
    return sum(measure(run.text, face=run.face) for run in line)
