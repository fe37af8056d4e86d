"""Causes a cutting is lost to: the list a nursery begins with, and those that spread.

The head propagator can add to the list; what is added is only a name.
"""

from typing import Final

from app.domain.problems import NotAccepted

MISSING: Final = "missing"
NOT_KNOWN: Final = "not known"

# Common practice, no source: the words a propagation unit uses on its sheets.
DEFAULT_CAUSES: Final = (
    "basal rot",
    "grey mould",
    "dried out",
    "blackleg",
    "leaf drop",
    "scorch",
    "virus",
    "sciarid larvae",
    "slugs",
    "other pest",
    "mist or power failure",
    "damage",
    "too weak",
    MISSING,
    "cleared by mistake",
    NOT_KNOWN,
)

# Rots that go from cutting to cutting, so that a bench wants a look sooner (common practice,
# no source).
SPREADING: Final = frozenset({"basal rot", "grey mould", "blackleg"})

# Counts and sheets lean on these two, so they keep their names and stay in the list.
KEPT_CAUSES: Final = frozenset({MISSING, NOT_KNOWN})

LONGEST_CAUSE: Final = 60


def cause_name(text: str, *, field: str = "name") -> str:
    """Return a cause as it is kept: single spaces, lower case at the start, 2 to 60 characters.

    Raises:
        NotAccepted: it is too short, too long or only a number.
    """
    line = " ".join(text.split())
    if not 1 < len(line) <= LONGEST_CAUSE or line.isdigit():
        sentence = f"Name the cause in 2 to {LONGEST_CAUSE} letters, such as vine weevil."
        raise NotAccepted.at(field, sentence)
    return line if line[1:2].isupper() else line[0].lower() + line[1:]
