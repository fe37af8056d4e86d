"""Names in a sheet of records: which record each means, made with it where that is usual."""

from sqlalchemy import select

from app.domain.codes import parse_batch_code
from app.domain.hormones import parse_hormone
from app.domain.problems import NotAccepted
from app.services.benches import keep_bench
from app.services.hormones import keep_hormone
from app.services.plant_names import keep_typed_plant, resolve_plant
from app.services.record_sheets import Work
from app.store.models.batches import Batch
from app.store.queries.benches import find_bench_id


def plant_name_of(work: Work, typed: str) -> int:
    """Return the id of a plant's name, which is made if it is new and plainly a name.

    Raises:
        NotAccepted: at "plant", it is no name, or one that asks a question.
    """
    known = resolve_plant(work.session, typed=typed).plant_name_id
    if known is not None:
        return known
    made = keep_typed_plant(work.session, actor=work.actor, now=work.now, typed=typed)
    work.note_new("plants", typed)
    return made


def bench_of(work: Work, name: str) -> int | None:
    """Return the id of a bench, which is made if it is new; None for a blank.

    Raises:
        NotAccepted: at "bench", the name is too long.
    """
    if not name:
        return None
    if find_bench_id(work.session, name=name) is None:
        work.note_new("benches", name)
    try:
        return keep_bench(work.session, actor=work.actor, now=work.now, name=name)
    except NotAccepted as refusal:
        raise NotAccepted.at("bench", str(refusal)) from refusal


def batch_of(work: Work, typed: str, *, column: str) -> int | None:
    """Return the id of a batch by its code; None for a blank.

    Raises:
        NotAccepted: there is no such batch.
    """
    if not typed:
        return None
    code = parse_batch_code(typed)
    found = work.session.scalar(select(Batch.id).where(Batch.code == str(code or typed)))
    if found is None:
        raise NotAccepted.at(column, f"There is no batch {typed} in the log.")
    return found


def hormone_of(work: Work, typed: str) -> int | None:
    """Return the id of a hormone as it is written in one line; None for a blank.

    Raises:
        NotAccepted: at "hormone", it cannot be read.
    """
    hormone = parse_hormone(typed, field="hormone")
    return None if hormone is None else keep_hormone(work.session, hormone=hormone)
