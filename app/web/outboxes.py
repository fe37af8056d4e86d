"""What the outbox of a device is told: answers in JSON that its script can act on by itself.

A device keeps an entry until it hears what became of it. Only *saved* lets it forget the entry, and
only *refused* lets it ask somebody; whatever else it hears, it waits and sends the same again.
"""

from datetime import datetime
from enum import StrEnum
from typing import Any, Final

from flask import Response, jsonify, request
from flask_wtf.csrf import generate_csrf

from app.domain.waited_entries import WaitedEntry, waited_entry
from app.web.error_lines import ErrorLine
from app.web.results import Saved, announce

_PERSON: Final = "Strikewell-Person"
_WAITED: Final = "Strikewell-Waited"
_MARK: Final = "Strikewell-Mark"
_THEN: Final = "Strikewell-Then"
_OPENS: Final = "open"
_TROUBLE: Final = 500
_BUSY: Final = 503


class Outcome(StrEnum):
    """What became of an entry that was sent."""

    SAVED = "saved"
    REFUSED = "refused"
    SIGN_IN = "sign in"
    SEND_AGAIN = "send again"
    WAIT = "wait"
    TROUBLE = "trouble"


def of_outbox() -> bool:
    """Return whether this request was sent by an outbox; it always says whose entry it is."""
    return _PERSON in request.headers


def of_another(person_key: str) -> bool:
    """Return whether this is an entry of somebody else than the person signed in here."""
    return of_outbox() and request.headers[_PERSON] != person_key


def waited_here(*, now: datetime) -> WaitedEntry | None:
    """Return since when this entry waited on its device, None where it did not.

    It travels in headers: the same entry sent again later has still the same content.
    """
    headers = request.headers
    return waited_entry(headers.get(_WAITED, ""), mark=headers.get(_MARK, ""), now=now)


def answer_saved(saved: Saved) -> Response:
    """Return what was saved; the next page says it where the device goes on to one."""
    if request.headers.get(_THEN) == _OPENS:
        announce(saved)
    return _answer(
        200,
        Outcome.SAVED,
        message=saved.message,
        location=saved.location,
        link=saved.link or saved.location,
        undo=saved.undo,
    )


def answer_refused(*lines: ErrorLine, status: int = 422) -> Response:
    """Return why an entry was not taken, and by which input; somebody has to look at it."""
    return _answer(
        status,
        Outcome.REFUSED,
        sentences=[line.sentence for line in lines],
        targets=[line.target for line in lines],
    )


def answer_sign_in() -> Response:
    """Return that the person of this entry is not signed in here."""
    return _answer(401, Outcome.SIGN_IN)


def answer_send_again() -> Response:
    """Return a fresh token, for the same entry to be sent once more with it."""
    return _answer(400, Outcome.SEND_AGAIN, token=generate_csrf())


def answer_problem(status: int, sentence: str) -> Response:
    """Return what a page for this status says: to wait, to mend it, or that something broke."""
    if status == _BUSY:
        return _answer(status, Outcome.WAIT, sentences=[sentence])
    if status >= _TROUBLE:
        return _answer(status, Outcome.TROUBLE, sentences=[sentence])
    return answer_refused(ErrorLine(target="", sentence=sentence), status=status)


def _answer(status: int, outcome: Outcome, **said: Any) -> Response:
    answer = jsonify(outcome=outcome.value, **said)
    answer.status_code = status
    return answer
