"""What stands on labels: which are wanted, how many of each, and the address in their codes."""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from app.domain.plant_name_parts import NamePiece
from app.domain.problems import NotAccepted

MOST_LABELS: Final = 3_000
"""As many as are drawn in one file: about ten seconds of work."""
LONGEST_ADDRESS: Final = 60
_ADDRESS: Final = re.compile(r"(https?://)([a-z0-9](?:[a-z0-9.-]*[a-z0-9])?)(:[0-9]{1,5})?/?")


@dataclass(frozen=True, kw_only=True)
class LabelText:
    """What the labels of one record say: its name in pieces, its code, and a line below.

    The code is ASCII. `trays` is how many trays or pots of it there are, None where not known.
    """

    code: str
    name: tuple[NamePiece, ...]
    said: str = ""
    trays: int | None = None


@dataclass(frozen=True, kw_only=True)
class Label:
    """One label: what it says, which of how many trays it is for, and the address in its code."""

    text: LabelText
    address: str
    part: str = ""


def labels_of(
    texts: Sequence[LabelText], *, base: str, each: int = 1, per_tray: bool = False
) -> tuple[Label, ...]:
    """Return the labels to print: `each` of every record, or one per tray where those are known.

    Raises:
        NotAccepted: they are none, or more than are drawn in one file.
    """
    wanted = [(text, text.trays if per_tray and text.trays else 0) for text in texts]
    number = sum(trays or each for _, trays in wanted)
    if not number:
        raise NotAccepted.at("codes", "Give at least one code.")
    if number > MOST_LABELS:
        raise NotAccepted.at(
            "codes",
            f"These are {number:,} labels; print at most {MOST_LABELS:,} at a time.",
        )
    return tuple(
        Label(
            text=text,
            address=label_address(base, code=text.code),
            part=f"{place} of {trays}" if trays else "",
        )
        for text, trays in wanted
        for place in range(1, (trays or each) + 1)
    )


def label_address(base: str, *, code: str) -> str:
    """Return the address in the code of a label: it ends in the plain code of the record."""
    return f"{base}/to/{code}"


def accepted_address(text: str, *, field: str = "address") -> str:
    """Return an address of this program without the closing stroke, "http://" put before it.

    Raises:
        NotAccepted: it is none, or too long for the code on a label.
    """
    line = text.strip().lower()
    line = line if "://" in line or not line else f"http://{line}"
    typed = _ADDRESS.fullmatch(line)
    if typed is None or ".." in typed[2]:
        raise NotAccepted.at(
            field, 'Give the address as in a browser, such as "http://192.168.1.20:8321".'
        )
    whole = "".join(part or "" for part in typed.groups())
    if len(whole) > LONGEST_ADDRESS:
        raise NotAccepted.at(
            field, f"Give an address of at most {LONGEST_ADDRESS} letters: longer ones do not scan."
        )
    return whole
