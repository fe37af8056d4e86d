"""Who may be named in a record, and who acts."""

import unicodedata
from dataclasses import dataclass
from enum import StrEnum
from typing import Final

from app.domain.problems import NotAccepted

LONGEST_NAME: Final = 80
ERASED_NAME: Final = "a person no longer recorded"


class Role(StrEnum):
    """What a person who signs in is here for."""

    TRAINEE = "trainee"
    HEAD = "head"
    MANAGER = "manager"


@dataclass(frozen=True, kw_only=True)
class Actor:
    """The person on whose behalf something is done.

    `person_key` is the lasting random mark that history holds instead of a name.
    """

    person_id: int
    person_key: str
    name: str
    role: Role


def tidy_name(name: str) -> str:
    """Return the name without spaces at its ends and with single ones inside."""
    return " ".join(unicodedata.normalize("NFC", name).split())


def name_key(name: str) -> str:
    """Return the name folded for comparing: "Ines  FARROW" and "ines farrow" are one person."""
    return unicodedata.normalize("NFKC", tidy_name(name)).casefold()


def accepted_name(name: str, *, field: str = "name") -> str:
    """Return the tidied name.

    Raises:
        NotAccepted: it is empty, longer than 80 characters, or has none that can be read.
    """
    tidy = tidy_name(name)
    if not any(character.isalnum() for character in tidy):
        raise NotAccepted.at(field, "Type the name as it is to stand in the log.")
    if len(tidy) > LONGEST_NAME or not tidy.isprintable():
        raise NotAccepted.at(field, f"Type a name of at most {LONGEST_NAME} characters.")
    return tidy
