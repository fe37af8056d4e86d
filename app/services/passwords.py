"""Hashing of passwords by Argon2id, always outside a transaction: it takes its time on purpose.

The cost (19 MiB, two rounds, one lane) is the least that the OWASP Password Storage Cheat Sheet
recommends for Argon2id.
"""

from typing import Final

from argon2 import PasswordHasher
from argon2.exceptions import InvalidHashError, VerificationError

MEMORY_KIB: Final = 19 * 1024
ROUNDS: Final = 2
LANES: Final = 1

# The hash of a random password that was thrown away: what is compared with where there is no
# account, so that the answer takes as long.
_NOBODYS: Final = (
    "$argon2id$v=19$m=19456,t=2,p=1$UiqLdl3Cjm/6Z09jdNY"
    "Dbg$0IBbATixP8tJDjyTl3SVb3TLk9+3jZcaN8M8WPVAqrI"
)
_HASHER: Final = PasswordHasher(time_cost=ROUNDS, memory_cost=MEMORY_KIB, parallelism=LANES)


def hash_password(password: str) -> str:
    """Return the hash to store, with its own salt and its cost written into it."""
    return _HASHER.hash(password)


def password_matches(password_hash: str, *, password: str) -> bool:
    """Return whether the password is the hash's. An empty hash takes as long and matches none."""
    try:
        matches = _HASHER.verify(password_hash or _NOBODYS, password)
    except (VerificationError, InvalidHashError):
        return False
    return matches and bool(password_hash)


def needs_rehash(password_hash: str) -> bool:
    """Return whether the hash was made at another cost than today's."""
    return _HASHER.check_needs_rehash(password_hash)
