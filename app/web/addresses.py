"""Which host names a page may be asked under, so that a foreign name leads nowhere.

Without this a page on the internet could let its own name point at this PC and read the log
through the browser (DNS rebinding).
"""

import ipaddress
import socket
from collections.abc import Callable, Iterable
from typing import TYPE_CHECKING, Final, TypeAlias

from flask import Flask

from app.network import own_addresses
from app.settings import Settings

if TYPE_CHECKING:
    from _typeshed.wsgi import StartResponse, WSGIEnvironment

ALWAYS: Final = ("localhost", "127.0.0.1")

_Application: TypeAlias = "Callable[[WSGIEnvironment, StartResponse], Iterable[bytes]]"


def is_own_address(host: str) -> bool:
    """Return whether the text is an IPv4 address that this PC has now: only those can be bound."""
    try:
        address = ipaddress.IPv4Address(host)
    except ValueError:
        return False
    if address.is_unspecified or address.is_multicast or str(address) == "255.255.255.255":
        return False
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            probe.bind((host, 0))
        except OSError:
            return False
    return True


def trust_hosts(app: Flask, settings: Settings) -> None:
    """Let pages be asked under this PC's names only; with `lan` under its own addresses too.

    An address the PC was given after the start is let in with the first request that comes on it.
    """
    trusted = [*ALWAYS, *settings.trusted_hosts]
    app.config["TRUSTED_HOSTS"] = trusted
    if settings.lan:
        trusted.extend(own_addresses())
        # mypy sees a method here; Flask documents this as the place for a layer of one's own.
        app.wsgi_app = _learning(app.wsgi_app, trusted)  # type: ignore[assignment,method-assign]


def _learning(inner: _Application, trusted: list[str]) -> _Application:
    def outer(environ: "WSGIEnvironment", start_response: "StartResponse") -> Iterable[bytes]:
        host = str(environ.get("HTTP_HOST", "")).partition(":")[0]
        if host not in trusted and is_own_address(host):
            trusted.append(host)
        return inner(environ, start_response)

    return outer
