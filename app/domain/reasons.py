"""The reason that somebody gives for lifting, voiding, withdrawing or cancelling something."""

from typing import Final

from app.domain.problems import NotAccepted

LONGEST_REASON: Final = 500


def accepted_reason(typed: str, *, missing: str, longest: int = LONGEST_REASON) -> str:
    """Return the reason in one line; `missing` says what to write where there is none.

    Raises:
        NotAccepted: at "reason", there is none or it has more than `longest` letters.
    """
    tidy = " ".join(typed.split())
    if not tidy:
        raise NotAccepted.at("reason", missing)
    if len(tidy) > longest:
        raise NotAccepted.at("reason", f"Shorten this to at most {longest} letters.")
    return tidy
