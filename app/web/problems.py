"""Pages for what went wrong: plain words, a way back and a reference number, never a trace."""

import secrets
from dataclasses import dataclass
from typing import Final

from flask import Flask, Response, current_app, g, render_template, request
from flask.typing import ResponseReturnValue
from sqlalchemy.exc import OperationalError
from werkzeug.exceptions import HTTPException, SecurityError

from app.domain.problems import NotAllowed, NotFound
from app.store.fair_lock import TooBusy
from app.web.outboxes import answer_problem, answer_send_again, of_outbox
from app.web.requests import OPEN_TOO_LONG, token_failed

_REFERENCE_BYTES: Final = 4
FAULT: Final = 500


@dataclass(frozen=True, kw_only=True)
class Words:
    """What the page for one status says: a heading and what to do."""

    heading: str
    sentence: str


_WORDS: Final = {
    400: Words(
        heading="That could not be read",
        sentence="What the browser sent was not complete. Go back, reload the page and try again.",
    ),
    401: Words(
        heading="Please sign in first",
        sentence="You are not signed in any more. Sign in and open the page again.",
    ),
    403: Words(
        heading="This is not open to you",
        sentence="Your role does not include this. Ask the head propagator.",
    ),
    404: Words(
        heading="There is no such page or record",
        sentence="Check the address or the code, or look for it with the search box.",
    ),
    405: Words(
        heading="That page is not opened this way",
        sentence="Go back and use the button on the page itself.",
    ),
    413: Words(
        heading="That is too large to be taken",
        sentence="Send a smaller file: split a long sheet into several.",
    ),
    422: Words(
        heading="That could not be accepted",
        sentence="Go back and look at what was typed.",
    ),
    500: Words(
        heading="Something went wrong here",
        sentence="Nothing of this step was saved. Go back and try again. If it happens again, "
        "give the reference number to whoever looks after this PC.",
    ),
    503: Words(
        heading="The log could not be written just now",
        sentence="Nothing of this step was saved, reading goes on. Wait a moment and try again.",
    ),
}
_STORE_TROUBLE: Final = {
    "disk is full": "The disk of this PC is full. Nothing of this step was saved; reading goes on. "
    "Make room, then save again.",
    "disk I/O error": "The disk of this PC did not take the entry. Nothing of this step was saved. "
    "Check the disk, then save again.",
    "locked": "Another program holds the log's file. Nothing of this step was saved. Close it, "
    "or wait a moment, then save again.",
    "readonly": "The log's file cannot be written to. Nothing of this step was saved. Check who "
    "may write in the data folder.",
}
_UNTRUSTED: Final = (
    "Strikewell does not answer under this name. Use localhost, or the address that was shown when "
    "it was started.\n"
)


def show_problems(app: Flask) -> None:
    """Answer every refusal and every fault with a page of ours."""
    app.register_error_handler(HTTPException, _http)
    app.register_error_handler(SecurityError, _untrusted)
    app.register_error_handler(NotFound, _not_found)
    app.register_error_handler(NotAllowed, _not_allowed)
    app.register_error_handler(TooBusy, _too_busy)
    app.register_error_handler(OperationalError, _store_trouble)


def reference() -> str:
    """Return the number by which this request is found in the log of the program."""
    if "reference" not in g:
        g.reference = secrets.token_hex(_REFERENCE_BYTES).upper()
    return str(g.reference)


def _http(error: HTTPException) -> ResponseReturnValue:
    if error.response is not None:
        return error.response
    status = error.code or 500
    # Only sentences of our own are shown; those of the library are for developers.
    own = error.description if error.description != type(error).description else None
    if status >= FAULT:
        _log(f"answered {status}")
        g.bare_page = True
    return _page(status, own)


def _untrusted(_error: SecurityError) -> ResponseReturnValue:
    # Without a trusted host no address can be built, so this page has no frame.
    return Response(_UNTRUSTED, status=400, mimetype="text/plain")


def _not_found(error: NotFound) -> ResponseReturnValue:
    return _page(404, str(error) or None)


def _not_allowed(error: NotAllowed) -> ResponseReturnValue:
    return _page(403, str(error) or None)


def _too_busy(error: TooBusy) -> ResponseReturnValue:
    return _page(503, str(error))


def _store_trouble(error: OperationalError) -> ResponseReturnValue:
    if token_failed():
        return _page(400, OPEN_TOO_LONG)
    g.bare_page = True
    said = str(error.orig)
    for sign, sentence in _STORE_TROUBLE.items():
        if sign in said:
            _log(f"the database said: {said}")
            return _page(503, sentence)
    current_app.logger.error("Reference %s", reference(), exc_info=error)
    return _page(500, None)


def _log(said: str) -> None:
    """Write what happened under the reference that the page shows."""
    line = "Reference %s, %s %s: %s"
    current_app.logger.error(line, reference(), request.method, request.path, said)


def _page(status: int, sentence: str | None) -> Response:
    words = _WORDS.get(status, _WORDS[500] if status >= FAULT else _WORDS[400])
    if of_outbox():
        said = f"{sentence or words.sentence} Reference {reference()}."
        return answer_send_again() if token_failed() else answer_problem(status, said)
    page = render_template(
        "problems/problem.html",
        heading=words.heading,
        sentence=sentence or words.sentence,
        reference=reference(),
        status=status,
    )
    return Response(page, status=status, mimetype="text/html")
