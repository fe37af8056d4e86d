"""What the pages at the door share: a try is refused while the wait after wrong ones lasts."""

from flask import request

from app.domain.sign_in import wait_in_words
from app.services.sign_in import Try, begin_try, write_wrong_try
from app.web.forms.base import PostForm
from app.web.requests import OPEN_TOO_LONG, database, now, reading, token_failed


def ready_to_try(form: PostForm, *, name: str) -> Try | None:
    """Return the try that this form makes, or None with the reason in the form."""
    if token_failed():
        form.refuse(OPEN_TOO_LONG)
        return None
    if not form.validate():
        return None
    with reading() as session:
        tried = begin_try(session, name=name, address=request.remote_addr or "", now=now())
    if tried.free_again_at is not None and tried.free_again_at > now():
        wait = wait_in_words(tried.free_again_at, now=now())
        form.refuse(f"That was wrong several times. Wait {wait}, then try again.")
        return None
    return tried


def note_wrong(tried: Try) -> None:
    """Write down that the try was wrong, in a transaction of its own."""
    with database().writing() as session:
        write_wrong_try(session, tried=tried, now=now())
