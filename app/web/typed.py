"""What somebody typed into a form, as pairs that can be compared, and written down again."""

import hashlib
import json
from dataclasses import dataclass
from typing import Final

from flask import request

_NOT_TYPED: Final = frozenset({"csrf_token", "post_key", "look_again"})
_PIECE: Final = 256 * 1024
_NEVER_CARRIED: Final = "password"


@dataclass(frozen=True, kw_only=True)
class TypedField:
    """One field as it was sent."""

    name: str
    value: str


def typed_fields() -> tuple[TypedField, ...]:
    """Return the fields of this request to be sent again, with the form's key; no password."""
    return tuple(
        TypedField(name=name, value=value)
        for name, value in request.form.items(multi=True)
        if name not in _NOT_TYPED - {"post_key"} and _NEVER_CARRIED not in name
    )


def typed_hash() -> str:
    """Return the SHA-256 of everything typed and of the files sent; not of token and key."""
    typed = [pair for pair in request.form.items(multi=True) if pair[0] not in _NOT_TYPED]
    digest = hashlib.sha256(json.dumps(typed, ensure_ascii=False).encode())
    for name, file in request.files.items(multi=True):
        digest.update(f"\n{name}\n{file.filename}\n".encode())
        # The page may have read the file already, or be about to.
        file.stream.seek(0)
        # A piece at a time: a photograph need not be in the memory as a whole.
        content = hashlib.sha256()
        while piece := file.stream.read(_PIECE):
            content.update(piece)
        digest.update(content.digest())
        file.stream.seek(0)
    return digest.hexdigest()
