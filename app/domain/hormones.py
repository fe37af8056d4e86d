"""Rooting hormone: substance, form and strength, read from one line and shown as one line.

Acid and salt are different substances and are never converted silently. `none` means none was
used; a blank means not recorded.
"""

import re
from dataclasses import dataclass
from typing import Final

from app.domain.problems import NotAccepted

NO_HORMONE: Final = "none"
HIGHEST_PPM: Final = 100_000


@dataclass(frozen=True, kw_only=True)
class Hormone:
    """A substance in a form at a strength; `form` and `ppm` may be unknown.

    `ppm` is mg per litre of a solution or mg per kg of a powder, 0 to 100,000.
    """

    substance: str
    form: str = ""
    ppm: int | None = None

    @property
    def label(self) -> str:
        """The hormone in one line, such as "IBA talc 1000 ppm" or "no hormone"."""
        if self.substance == NO_HORMONE:
            return "no hormone"
        strength = "" if self.ppm is None else f"{self.ppm} ppm"
        return " ".join(part for part in (self.substance, self.form, strength) if part)


_NONE_WORDS: Final = frozenset({"none", "no hormone", "no", "without"})
_STRENGTH: Final = re.compile(
    r"(?P<number>\d[\d,. ]*)\s*(?P<unit>ppm|mg/l|mg/kg|%)?\s*$", re.IGNORECASE
)
_WRITTEN: Final = {"iba": "IBA", "k-iba": "K-IBA", "naa": "NAA", "k-naa": "K-NAA", "iaa": "IAA"}


def parse_hormone(text: str, *, field: str = "hormone") -> Hormone | None:
    """Return the hormone written as "IBA talc 1000 ppm", or None for a blank.

    The first word is the substance, what stands between it and the number is the form. A
    percentage is turned into ppm (1 % = 10,000 ppm).

    Raises:
        NotAccepted: the strength is out of range or no substance is named.
    """
    line = " ".join(text.split())
    if not line:
        return None
    if line.lower() in _NONE_WORDS:
        return Hormone(substance=NO_HORMONE)
    strength = _STRENGTH.search(line)
    before = line[: strength.start()].strip() if strength else line
    if not before:
        raise NotAccepted.at(field, 'Name the substance first, such as "IBA talc 1000 ppm".')
    substance, _, form = before.partition(" ")
    return Hormone(
        substance=_WRITTEN.get(substance.lower(), substance),
        form=form.strip(),
        ppm=_ppm(strength, field=field) if strength else None,
    )


def _ppm(strength: re.Match[str], *, field: str) -> int:
    digits = strength["number"].replace(" ", "")
    value = float(digits.replace(",", "")) if digits.replace(",", "").count(".") <= 1 else -1.0
    ppm = round(value * 10_000) if strength["unit"] == "%" else round(value)
    if not 0 <= ppm <= HIGHEST_PPM:
        sentence = f"Give the strength in ppm, from 0 to {HIGHEST_PPM:,}."
        raise NotAccepted.at(field, sentence)
    return ppm
