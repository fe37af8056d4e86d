"""What a page says after saving: a sentence, the record, the way back and the next one."""

import json
from dataclasses import asdict, dataclass, field
from typing import Self

from flask import flash


@dataclass(frozen=True, kw_only=True)
class Saved:
    """The outcome of an accepted form.

    `location` is where the browser goes, `message` what was saved in a sentence, `link` the
    address of the record the message is about (the location if left out), `undo` an address
    that takes it back when posted to, `next` the page for another one like it.
    """

    location: str
    message: str
    link: str | None = None
    undo: str | None = None
    next: str | None = None
    next_words: str = field(default="Next one")

    def as_text(self) -> str:
        """Return the outcome as JSON, to be stored with the form's key."""
        return json.dumps(asdict(self), ensure_ascii=False)

    @classmethod
    def from_text(cls, text: str) -> Self:
        """Return the outcome that `as_text` wrote."""
        return cls(**json.loads(text))


def announce(saved: Saved) -> None:
    """Let the next page say what was saved."""
    notice = {
        "message": saved.message,
        "location": saved.link or saved.location,
        "undo": saved.undo,
        "next": saved.next,
        "next_words": saved.next_words,
    }
    # Flask carries any JSON value; its annotation names only the usual one.
    flash(notice, "saved")  # type: ignore[arg-type]
