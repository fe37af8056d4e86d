"""What can be wrong with an entry, said in sentences a person can act on."""

from dataclasses import dataclass
from typing import Self


@dataclass(frozen=True, kw_only=True)
class Problem:
    """One thing wrong: the field it stands by ("" for the whole entry) and what to do about it."""

    field: str
    sentence: str


class NotAccepted(Exception):
    """An entry that breaks a rule. Nothing of it is stored; every problem names its field."""

    def __init__(self, problems: tuple[Problem, ...]) -> None:
        super().__init__(" ".join(problem.sentence for problem in problems))
        self.problems = problems

    @classmethod
    def at(cls, field: str, sentence: str) -> Self:
        """Return the refusal for a single problem at one field."""
        return cls((Problem(field=field, sentence=sentence),))


class NotFound(Exception):
    """A record that was asked for by code, name or number and does not exist."""


class NotAllowed(Exception):
    """Something this person's role does not let them do; the message says whom to ask."""


@dataclass(frozen=True, kw_only=True)
class FieldChange:
    """One field as it stands now and as the second editor wanted it, both in words."""

    field: str
    now: str
    wanted: str


class ChangedMeanwhile(Exception):
    """Somebody else saved the record after this editor opened it; nothing was overwritten.

    `version` is the number of the stored version, to save on top of it knowingly.
    """

    def __init__(self, *, version: int, changes: tuple[FieldChange, ...] = ()) -> None:
        super().__init__("Somebody else changed this record while you were editing it.")
        self.version = version
        self.changes = changes
