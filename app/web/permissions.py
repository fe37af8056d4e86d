"""Who may ask for which page: every view carries a mark, and what carries none is refused."""

from collections.abc import Callable
from typing import Any, Final, TypeVar

from flask import Flask, abort, current_app, request
from flask.typing import ResponseReturnValue
from flask_login import current_user

from app.domain.permissions import Permission, allowed
from app.web.arrivals import ask_to_sign_in
from app.web.outboxes import answer_sign_in, of_another

View = TypeVar("View", bound=Callable[..., Any])

_MARK: Final = "strikewell_permission"
_ANYONE: Final = "anyone"
_REFUSED: Final = (
    'The role "{role}" does not include this: {permission}. Ask the head propagator, or change '
    "person if somebody else is signed in here."
)


def allow(permission: Permission) -> Callable[[View], View]:
    """Return the mark for a view that asks for this permission; it stands below the route."""

    def mark(view: View) -> View:
        setattr(view, _MARK, permission)
        return view

    return mark


def allow_anyone(view: View) -> View:
    """Mark a view that needs nobody signed in: the way in, static files, secret calendars."""
    setattr(view, _MARK, _ANYONE)
    return view


def permission_of(view: Callable[..., Any]) -> Permission | None:
    """Return what the view asks for, None if anyone may.

    Raises:
        LookupError: the view carries no mark and so answers nobody.
    """
    mark = getattr(view, _MARK, None)
    if isinstance(mark, Permission):
        return mark
    if mark == _ANYONE:
        return None
    raise LookupError(f"{view.__module__}.{view.__qualname__} says no permission")


def guard_routes(app: Flask) -> None:
    """Refuse, before any view runs, whoever lacks what its mark asks for."""
    allow_anyone(app.view_functions["static"])
    app.before_request(_guard)


def may(permission: Permission | str) -> bool:
    """Return whether the person signed in carries the permission (or its name, in templates)."""
    if not current_user.is_authenticated:
        return False
    wanted = permission if isinstance(permission, Permission) else Permission[permission]
    return allowed(current_user.actor.role, wanted)


def _guard() -> ResponseReturnValue | None:
    if request.endpoint is None:
        # No such page: the answer is 404 or 405, and nothing is asked of anybody.
        return None
    try:
        permission = permission_of(current_app.view_functions[request.endpoint])
    except LookupError:
        current_app.logger.exception("A page without a permission was asked for")
        abort(403)
    if permission is None:
        return None
    if not current_user.is_authenticated:
        return ask_to_sign_in()
    if of_another(current_user.actor.person_key):
        return answer_sign_in()
    if not may(permission):
        role = current_user.actor.role.value
        abort(403, description=_REFUSED.format(role=role, permission=permission.value))
    return None
