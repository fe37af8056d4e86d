"""What this PC is called on the local network."""

import socket
from typing import Final

# An address of the block kept for examples (RFC 5737). Nothing is sent to it, but asking for the
# way there tells which address of this PC faces the network.
_SOMEWHERE: Final = ("192.0.2.1", 9)


def own_addresses() -> tuple[str, ...]:
    """Return the IPv4 addresses this PC is known to have at the moment, without loopback."""
    found = _resolved(socket.gethostname())
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as way:
        try:
            way.connect(_SOMEWHERE)
        except OSError:
            pass  # No network at all: only what the name gave.
        else:
            found.add(str(way.getsockname()[0]))
    return tuple(sorted(address for address in found if not address.startswith("127.")))


def _resolved(name: str) -> set[str]:
    try:
        entries = socket.getaddrinfo(name, None, family=socket.AF_INET)
    except OSError:
        return set()
    return {str(entry[4][0]) for entry in entries}
