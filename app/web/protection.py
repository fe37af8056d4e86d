"""What stands round every request: host names, sizes, form tokens and the page policy."""

from collections.abc import Callable
from hashlib import sha256
from typing import Any, Final, TypeVar

from flask import Flask, Response, current_app, g, request
from flask_wtf.csrf import CSRFError, CSRFProtect

from app.settings import Settings
from app.web.addresses import trust_hosts

View = TypeVar("View", bound=Callable[..., Any])

FORM_BYTES: Final = 512 * 1024
# A file comes wrapped in its multipart borders and beside the other fields of its form.
_WRAPPING_BYTES: Final = 64 * 1024
_LIMIT: Final = "strikewell_upload_bytes"

PAGE_POLICY: Final = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; "
    "font-src 'self'; connect-src 'self'; form-action 'self'; base-uri 'none'; "
    "frame-ancestors 'none'"
)
HEADERS: Final = {
    "Content-Security-Policy": PAGE_POLICY,
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Permissions-Policy": "camera=(), geolocation=(), microphone=(), payment=(), usb=()",
    # Not no-referrer: over https the token check compares the referrer with the host.
    "Referrer-Policy": "same-origin",
    "X-Content-Type-Options": "nosniff",
    "X-Frame-Options": "DENY",
}

_csrf = CSRFProtect()


def upload_limit(size: int) -> Callable[[View], View]:
    """Return the mark for a view that takes a file of at most this many bytes."""

    def mark(view: View) -> View:
        setattr(view, _LIMIT, size)
        return view

    return mark


def protect(app: Flask, settings: Settings) -> None:
    """Put up hosts, sizes, tokens and headers, in this order, before any page is asked."""
    trust_hosts(app, settings)
    app.config.update(
        MAX_CONTENT_LENGTH=FORM_BYTES,
        SESSION_COOKIE_NAME=_cookie_name(settings),
        SESSION_COOKIE_HTTPONLY=True,
        SESSION_COOKIE_SAMESITE="Lax",
        WTF_CSRF_TIME_LIMIT=None,
        # Our own check below runs instead, since it lets the page be shown again.
        WTF_CSRF_CHECK_DEFAULT=False,
    )
    _csrf.init_app(app)
    app.before_request(_limit_size)
    app.before_request(_check_token)
    app.after_request(_add_headers)


def _cookie_name(settings: Settings) -> str:
    """Return a name of this log's own: browsers keep cookies by host, whatever the port.

    Else the demo, open beside the real log, would sign people out of it.
    """
    return f"strikewell-{sha256(settings.secret_key.encode()).hexdigest()[:8]}"


def _limit_size() -> None:
    """Set how much may be sent, before anything reads the form."""
    if request.endpoint is not None:
        size = getattr(current_app.view_functions[request.endpoint], _LIMIT, None)
        if size is not None:
            request.max_content_length = size + _WRAPPING_BYTES
            g.too_large = (request.content_length or 0) > size + _WRAPPING_BYTES


def too_large() -> bool:
    """Return whether more was sent than the page takes: nothing of it can be read or written."""
    return bool(g.get("too_large", False))


def _check_token() -> None:
    """Note whether the form's token holds. Where it does not, nothing this request does can write.

    The page is still asked, so that it can be shown again with everything typed and a new token.
    """
    if too_large():
        # The token cannot be read either: the page says so itself.
        g.token_failed = True
        return
    if not current_app.config["WTF_CSRF_ENABLED"] or request.endpoint is None:
        return
    try:
        _csrf.protect()
    except CSRFError:
        g.token_failed = True


def _add_headers(response: Response) -> Response:
    for name, value in HEADERS.items():
        response.headers[name] = value
    if request.endpoint != "static":
        # Pages show who did what; a shared PC's browser must not show them to the next person.
        response.headers.setdefault("Cache-Control", "no-store")
    return response
