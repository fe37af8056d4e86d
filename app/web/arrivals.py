"""Sending somebody to the sign-in page and back again, with whatever was typed meanwhile."""

from typing import Final
from urllib.parse import urlsplit

from flask import Response, redirect, render_template, request, url_for
from flask.typing import ResponseReturnValue

from app.web.forms.sign_in import SignInForm
from app.web.outboxes import answer_sign_in, of_outbox
from app.web.typed import TypedField, typed_fields

_KEPT: Final = "kept:"


def local_path(address: str | None, *, otherwise: str = "/") -> str:
    """Return the address if it is a path of this program's own, else the other one."""
    if not address or not address.startswith("/") or address.startswith(("//", "/\\")):
        return otherwise
    if "\\" in address or not address.isprintable():
        return otherwise
    parts = urlsplit(address)
    return otherwise if parts.scheme or parts.netloc else address


def here() -> str:
    """Return the path and query of this request."""
    return request.full_path.rstrip("?")


def kept_fields() -> tuple[TypedField, ...]:
    """Return what was typed on another page and carried through the sign-in page."""
    return tuple(
        TypedField(name=name.removeprefix(_KEPT), value=value)
        for name, value in request.form.items(multi=True)
        if name.startswith(_KEPT)
    )


def ask_to_sign_in() -> ResponseReturnValue:
    """Answer somebody who is not signed in: the sign-in page, which leads back here.

    A form that was being sent is carried along in hidden fields and shown again afterwards.
    """
    if request.method in {"GET", "HEAD"}:
        return redirect(url_for("sign_in.sign_in", next=here()), code=303)
    if of_outbox():
        return answer_sign_in()
    form = SignInForm(formdata=None, next=here())
    page = render_template("sign_in/sign_in.html", form=form, kept=typed_fields())
    return Response(page, status=401, mimetype="text/html")
