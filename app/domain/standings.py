"""Where a suggestion comes from, said beside it."""

from dataclasses import dataclass
from typing import Final

COMMON_PRACTICE: Final = "common practice, no source"


@dataclass(frozen=True, kw_only=True)
class Advisory:
    """One sentence beside a field, with its standing ("" where it states the nursery's own record).

    `urgent` marks what is more likely a slip, or a danger, than a choice.
    """

    field: str
    sentence: str
    standing: str
    urgent: bool = False

    @property
    def words(self) -> str:
        """The sentence with its standing."""
        return f"{self.sentence} ({self.standing})" if self.standing else self.sentence
