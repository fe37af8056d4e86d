"""What each role may do. Whatever is not listed is refused."""

from enum import StrEnum
from typing import Final

from app.domain.people import Role


class Permission(StrEnum):
    """One thing a route or a service can ask for."""

    READ = "read the log"
    STICK = "stick a batch"
    CHECK = "check a batch"
    CORRECT_OWN = "correct an own entry"
    CORRECT_ANY = "correct anybody's entry"
    KEEP_REGISTERS = "keep stock plants, benches, mixes, method cards and plant names"
    KEEP_ORDERS = "keep orders and the season's plan"
    TEACH = "plan practical sessions and stick batches for those who take part"
    SEE_EVERYBODY = "see figures by person"
    EXPORT = "take data out"
    IMPORT = "read a sheet in"
    KEEP_PEOPLE = "keep people and their sign-in"
    SIGN_OFF = "sign off what somebody has learned"
    KEEP_BACKUPS = "make backups and read the history"


_TRAINEE: Final = frozenset(
    {Permission.READ, Permission.STICK, Permission.CHECK, Permission.CORRECT_OWN}
)
_MANAGER: Final = frozenset(
    {Permission.READ, Permission.KEEP_ORDERS, Permission.SEE_EVERYBODY, Permission.EXPORT}
)
_HEAD: Final = frozenset(Permission)
_BY_ROLE: Final = {Role.TRAINEE: _TRAINEE, Role.MANAGER: _MANAGER, Role.HEAD: _HEAD}


def allowed(role: Role, permission: Permission) -> bool:
    """Return whether the role carries the permission."""
    return permission in _BY_ROLE[role]
