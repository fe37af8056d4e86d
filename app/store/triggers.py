"""Rules the database keeps by itself, in one place; re-created after every migration.

A CHECK cannot look at other rows, so that the counts of a batch's checks, and what was re-stuck
from it as other batches, stay within what was stuck is kept here, as is that history and versions
of checks are only ever added to, and that an issued plant passport stays as it was issued.
"""

from typing import Final

from sqlalchemy import Connection, text

_APPEND_ONLY: Final = (
    "history", "check_versions", "check_losses", "practical_texts",
    "check_plantlets",
)  # fmt: skip
_KEPT: Final = (
    "batches", "checks", "plant_names", "stock_plants", "people", "mix_versions", "treatments",
    "mix_lots", "liner_lots", "liner_stages", "plant_passports", "photographs", "practicals",
    "round_sheets", "round_sheet_lines", "dispatches",
)  # fmt: skip
_ISSUED: Final = (
    "id", "number", "batch_id", "territory", "title", "a", "b", "c", "d", "e", "blank_reason",
    "plants", "labels", "note", "replaces_id", "issued_on", "issued_at", "issued_by_id",
)  # fmt: skip

_SUM: Final = (
    "((SELECT COALESCE(SUM(rooted + lost + ended), 0) FROM checks "
    "WHERE batch_id = {batch} AND withdrawn = 0) + "
    "(SELECT COALESCE(SUM(stuck), 0) FROM batches "
    "WHERE restuck_from_id = {batch} AND voided_at IS NULL))"
)
_TAKEN: Final = (
    "(SELECT taken FROM liner_facts WHERE batch_id = NEW.batch_id) > "
    "(SELECT rooted FROM batch_facts WHERE batch_id = NEW.batch_id)"
)
_TOO_FEW: Final = "liners_add_up: more were taken after rooting than rooted"
_TOO_MANY: Final = "counts_add_up: rooted and lost are more than were stuck"


def trigger_statements() -> dict[str, str]:
    """Return the SQLite statement of each trigger by its name."""
    found = {}
    for table in _APPEND_ONLY:
        for action in ("UPDATE", "DELETE"):
            name = f"{table}_no_{action.lower()}"
            found[name] = _refusal(name, action, table, f"{table} is only added to")
    for table in _KEPT:
        name = f"{table}_no_delete"
        found[name] = _refusal(name, "DELETE", table, f"{table} are never deleted")
    stuck = "(SELECT stuck FROM batches WHERE id = NEW.batch_id)"
    of_new_check = f"{_SUM.format(batch='NEW.batch_id')} > {stuck}"
    found["checks_add_up_insert"] = _guard("checks_add_up_insert", "INSERT ON checks", of_new_check)
    found["checks_add_up_update"] = _guard("checks_add_up_update", "UPDATE ON checks", of_new_check)
    parent = "(SELECT stuck FROM batches WHERE id = NEW.restuck_from_id)"
    restuck = (
        "NEW.restuck_from_id IS NOT NULL AND NEW.voided_at IS NULL AND "
        f"{_SUM.format(batch='NEW.restuck_from_id')} > {parent}"
    )
    for name, event in (
        ("restuck_adds_up_insert", "INSERT ON batches"),
        ("restuck_adds_up_update", "UPDATE OF stuck, restuck_from_id, voided_at ON batches"),
    ):
        found[name] = _guard(name, event, restuck)
    for name, event in (
        ("liners_rooted_insert", "INSERT ON liner_facts"),
        ("liners_rooted_update", "UPDATE ON liner_facts"),
        ("rooted_liners_update", "UPDATE OF rooted ON batch_facts"),
    ):
        found[name] = _guard(name, event, _TAKEN, sentence=_TOO_FEW)
    found["batches_add_up_update"] = _guard(
        "batches_add_up_update",
        "UPDATE OF stuck ON batches",
        f"{_SUM.format(batch='NEW.id')} > NEW.stuck",
    )
    return found | _passport_guards()


def _passport_guards() -> dict[str, str]:
    """Return the triggers by which an issued passport stays word for word, and void once void."""
    issued = f"UPDATE OF {', '.join(_ISSUED)} ON plant_passports"
    sentence = "an issued plant passport is never changed"
    return {
        "plant_passports_no_update": (
            f"CREATE TRIGGER plant_passports_no_update BEFORE {issued} "
            f"BEGIN SELECT RAISE(ABORT, '{sentence}'); END"
        ),
        "plant_passports_void_once": (
            "CREATE TRIGGER plant_passports_void_once BEFORE UPDATE ON plant_passports "
            "WHEN OLD.voided_at IS NOT NULL "
            f"BEGIN SELECT RAISE(ABORT, '{sentence}'); END"
        ),
    }


def create_triggers(connection: Connection) -> None:
    """Drop and create every trigger, so that they match this program."""
    for name, statement in trigger_statements().items():
        connection.execute(text(f"DROP TRIGGER IF EXISTS {name}"))
        connection.execute(text(statement))


def _refusal(name: str, action: str, table: str, sentence: str) -> str:
    return (
        f"CREATE TRIGGER {name} BEFORE {action} ON {table} "
        f"BEGIN SELECT RAISE(ABORT, '{sentence}'); END"
    )


def _guard(name: str, event: str, condition: str, *, sentence: str = _TOO_MANY) -> str:
    return (
        f"CREATE TRIGGER {name} AFTER {event} WHEN {condition} "
        f"BEGIN SELECT RAISE(ABORT, '{sentence}'); END"
    )
