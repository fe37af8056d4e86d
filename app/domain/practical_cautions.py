"""The cautions of a practical session, read before it begins, and who has read them."""

import hashlib
from collections.abc import Iterable
from dataclasses import dataclass

from app.domain.genus_cautions import FOLLOW_THE_LABEL
from app.domain.work_cautions import WorkCaution


@dataclass(frozen=True, kw_only=True)
class PracticalCaution:
    """One thing to mind: what it is about, and the words with where they come from."""

    about: str
    words: str


@dataclass(frozen=True, kw_only=True)
class CautionText:
    """All that is to be read, as it stands; two with the same fingerprint say the same."""

    cautions: tuple[PracticalCaution, ...]
    closing: str = FOLLOW_THE_LABEL

    @property
    def text(self) -> str:
        """The whole text, a caution to a line."""
        lines = [f"{each.about}: {each.words}" for each in self.cautions]
        return "\n".join([*lines, self.closing])

    @property
    def fingerprint(self) -> str:
        """Return the SHA-256 of the text in hexadecimal."""
        return fingerprint_of(self.text)


def fingerprint_of(text: str) -> str:
    """Return the SHA-256 of a text in hexadecimal."""
    return hashlib.sha256(text.encode()).hexdigest()


def caution_text(
    *,
    genera: Iterable[tuple[str, str]],
    works: Iterable[WorkCaution],
    own: Iterable[str],
) -> CautionText:
    """Return what is to be read: (genus, words) of each genus, of the work, and own lines."""
    return CautionText(
        cautions=(
            *(PracticalCaution(about=genus, words=words) for genus, words in genera),
            *(
                PracticalCaution(about=work.work, words=f"{work.sentence} ({work.standing})")
                for work in works
            ),
            *(PracticalCaution(about="Here", words=line) for line in own),
        )
    )
