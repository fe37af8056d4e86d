"""Who may be named in a record, and who acts."""

from dataclasses import dataclass
from enum import StrEnum


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
