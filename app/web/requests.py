"""What a page may ask of its request: the session, the person, the day; and how a form is saved.

A request that may write begins its transaction IMMEDIATE before its first SELECT, chosen by the
method: a read that turns into a write later fails at once, however long the time-out. A request
whose token did not hold gets a session that cannot write.
"""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import date, datetime
from typing import Final, cast

from flask import Flask, Response, abort, current_app, g, redirect, render_template, request
from flask_login import current_user
from sqlalchemy.orm import Session

from app.clock import Clock, local_date
from app.domain.people import Actor
from app.domain.problems import ChangedMeanwhile, NotAccepted
from app.domain.source_plants import Moment
from app.domain.waited_entries import WaitedEntry
from app.services.forms import keep_form
from app.settings import Settings
from app.store.queries.forms import StoredForm, find_form
from app.store.queries.nursery import Nursery, get_nursery
from app.store.session import Database, commit
from app.web.error_lines import ErrorLine, error_lines
from app.web.forms.base import PostForm, new_post_key
from app.web.outboxes import answer_refused, answer_saved, answer_send_again, of_outbox, waited_here
from app.web.results import Saved, announce
from app.web.typed import typed_fields, typed_hash

_RUNNING: Final = "strikewell"
SAFE_METHODS: Final = frozenset({"GET", "HEAD", "OPTIONS"})
OPEN_TOO_LONG: Final = (
    "This page had been open too long to be saved as it was. Nothing is lost: look it over and "
    "save again."
)
_OTHER_CONTENT: Final = (
    "This form was already saved once, with other content. If you mean a second entry, save it "
    "now; if you meant to change the first one, open that and correct it."
)


@dataclass(frozen=True, kw_only=True)
class Running:
    """What one running program holds: its settings, its database and its clock."""

    settings: Settings
    database: Database
    clock: Clock


def start_running(app: Flask, running: Running) -> None:
    """Tie the program's database and clock to the app, and close each request's session."""
    app.extensions[_RUNNING] = running
    app.teardown_appcontext(_close_session)


def running() -> Running:
    """Return the settings, database and clock of this program."""
    return cast("Running", current_app.extensions[_RUNNING])


@contextmanager
def reading() -> Iterator[Session]:
    """Give a short session for reading, also on POST, where the request's own would write."""
    with running().database.reading() as session:
        yield session


def database() -> Database:
    """Return the database, for short writing transactions of a page's own.

    A request whose token did not hold is answered 400 here, since it must not write.
    """
    if token_failed():
        abort(400, description=OPEN_TOO_LONG)
    return running().database


def db() -> Session:
    """Return the request's session: able to write on POST, for reading only on GET.

    After a form was saved or refused it is for reading only as well.
    """
    if "session" not in g:
        writes = request.method not in SAFE_METHODS and not token_failed()
        g.session = running().database.open_session(write=writes and "written" not in g)
        g.setdefault("sessions", []).append(g.session)
    return cast("Session", g.session)


def end_reading() -> None:
    """End the request's transaction, so that a long page is drawn without holding one open."""
    if "session" in g:
        db().rollback()


def now() -> datetime:
    """Return the instant of this request, the same however often it is asked."""
    if "instant" not in g:
        g.instant = running().clock.now()
    return cast("datetime", g.instant)


def nursery() -> Nursery:
    """Return the nursery, read once for this request in a transaction of its own."""
    if "nursery" not in g:
        with reading() as session:
            g.nursery = get_nursery(session)
    return cast("Nursery", g.nursery)


def today() -> date:
    """Return the nursery's day of this request."""
    return local_date(now(), zone=nursery().zone)


def waited() -> WaitedEntry | None:
    """Return since when the entry of this request waited on its device, None where it did not."""
    return waited_here(now=now())


def day_meant() -> date:
    """Return what "today" meant where the entry was typed: it may have waited past midnight."""
    entry = waited()
    if entry is None or entry.doubtful:
        return today()
    return local_date(entry.recorded_at, zone=nursery().zone)


def moment() -> Moment:
    """Return now, with the nursery's day of it and its time zone."""
    return Moment(now=now(), today=today(), zone=nursery().zone)


def actor() -> Actor:
    """Return the person signed in; a page that anyone may see must not ask."""
    if not current_user.is_authenticated:
        abort(401)
    return cast("Actor", current_user.actor)


def token_failed() -> bool:
    """Return whether this request came with a form token that does not hold."""
    return bool(g.get("token_failed", False))


def submit(form: PostForm, action: Callable[[Session], Saved]) -> Response | None:
    """Save a posted form once and return the answer, or None where the page is to be shown again.

    None means that nothing was written: the request is no POST, the form has errors (each beside
    its field), or its token did not hold. The same form sent twice is answered as the first time.
    """
    if request.method in SAFE_METHODS:
        return None
    if token_failed():
        form.refuse(OPEN_TOO_LONG)
        return answer_send_again() if of_outbox() else None
    if "look_again" in request.form:
        return None
    answer = _replay(form) if form.post_key.data else None
    if answer is None and not form.errors and form.validate():
        answer = _save(form, action)
    if answer is None and of_outbox():
        answer = answer_refused(*error_lines(form))
    if answer is not None:
        g.answered = answer.status_code
    return answer


def status_of(form: PostForm) -> int:
    """Return the status for the page: of the answer given, 422 with errors, 200 without."""
    answered = g.get("answered")
    if answered is not None:
        return int(answered)
    return 422 if form.errors else 200


def press(action: Callable[[Session], Saved]) -> Response:
    """Carry out a button that stands alone (undo, end a session) and return the answer.

    Where it is refused, a page says why; where its token did not hold, it asks for one more press.
    """
    form = PostForm()
    answer = submit(form, action)
    if answer is not None:
        return answer
    page = render_template("problems/press_again.html", form=form, typed=typed_fields())
    return Response(page, status=status_of(form), mimetype="text/html")


def _replay(form: PostForm) -> Response | None:
    stored = find_form(db(), key=form.post_key.data)
    if stored is None:
        return None
    if stored == _as_stored(form, result=stored.result):
        _end_writing()
        return _saved_answer(Saved.from_text(stored.result))
    form.post_key.data = new_post_key()
    form.refuse(_OTHER_CONTENT)
    return None


def _save(form: PostForm, action: Callable[[Session], Saved]) -> Response | None:
    try:
        saved = action(db())
        keep_form(db(), form=_as_stored(form, result=saved.as_text()), now=now())
        commit(db())
    except NotAccepted as refusal:
        _end_writing()
        form.refuse_all(refusal)
        return None
    except ChangedMeanwhile as change:
        _end_writing()
        return _both_versions(change)
    _end_writing()
    return _saved_answer(saved)


def _as_stored(form: PostForm, *, result: str) -> StoredForm:
    return StoredForm(
        key=form.post_key.data,
        person_id=current_user.actor.person_id if current_user.is_authenticated else None,
        route=f"{request.method} {request.full_path}",
        body_hash=typed_hash(),
        result=result,
    )


def _saved_answer(saved: Saved) -> Response:
    if of_outbox():
        return answer_saved(saved)
    announce(saved)
    return cast("Response", redirect(saved.location, code=303))


def _both_versions(change: ChangedMeanwhile) -> Response:
    """Return the page with the stored and the typed version, to choose from."""
    if of_outbox():
        return answer_refused(ErrorLine(target="", sentence=str(change)), status=409)
    page = render_template(
        "problems/changed.html",
        change=change,
        typed=[field for field in typed_fields() if field.name != "version"],
    )
    return Response(page, status=409, mimetype="text/html")


def _end_writing() -> None:
    """Give the writer's turn back; whatever else the page shows, it reads afresh."""
    g.written = True
    g.pop("session").close()


def _close_session(_error: BaseException | None) -> None:
    for session in g.pop("sessions", []):
        session.close()
