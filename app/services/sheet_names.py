"""Names in a sheet of records: which record each means, made with it where that is usual."""

from sqlalchemy import func, select

from app.domain.codes import parse_batch_code, parse_mix_lot_code, parse_stock_plant_code
from app.domain.hormones import parse_hormone
from app.domain.people import Actor, name_key
from app.domain.problems import NotAccepted
from app.services.benches import keep_bench
from app.services.hormones import keep_hormone
from app.services.mixes import keep_mix
from app.services.people import keep_person
from app.services.plant_names import keep_typed_plant, resolve_plant
from app.services.record_sheets import Work
from app.store.models.batches import Batch
from app.store.models.containers import Container
from app.store.models.mixes import Mix, MixLot
from app.store.models.stock_plants import StockPlant
from app.store.queries.benches import find_bench_id
from app.store.queries.people import find_person


def writer_of(work: Work, *, entering: str) -> Actor:
    """Return who enters records of a kind that are not written without a name.

    Raises:
        NotAccepted: nobody is named.
    """
    if work.actor is None:
        raise NotAccepted.at("", f"Say who enters {entering}: strikewell import FILE --as PERSON.")
    return work.actor


def plant_name_of(work: Work, *, typed: str, column: str) -> int:
    """Return the id of a plant's name, which is made if it is new and plainly a name.

    Raises:
        NotAccepted: it is no name, or one that asks a question.
    """
    try:
        return _plant_name(work, typed=typed)
    except NotAccepted as refusal:
        raise NotAccepted.at(column, str(refusal)) from refusal


def _plant_name(work: Work, *, typed: str) -> int:
    known = resolve_plant(work.session, typed=typed).plant_name_id
    if known is not None:
        return known
    made = keep_typed_plant(work.session, actor=work.actor, now=work.now, typed=typed)
    work.note_new("plants", typed)
    return made


def bench_of(work: Work, *, typed: str, column: str) -> int | None:
    """Return the id of a bench, which is made if it is new; None for a blank.

    Raises:
        NotAccepted: the name is too long.
    """
    if not typed:
        return None
    if find_bench_id(work.session, name=typed) is None:
        work.note_new("benches", typed)
    try:
        return keep_bench(work.session, actor=work.actor, now=work.now, name=typed)
    except NotAccepted as refusal:
        raise NotAccepted.at(column, str(refusal)) from refusal


def batch_of(work: Work, *, typed: str, column: str) -> int | None:
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


def stock_plant_of(work: Work, *, typed: str, column: str) -> int:
    """Return the id of a stock plant by its code.

    Raises:
        NotAccepted: there is no such stock plant.
    """
    number = parse_stock_plant_code(typed) or 0
    found = work.session.scalar(select(StockPlant.id).where(StockPlant.number == number))
    if found is None:
        raise NotAccepted.at(column, f"There is no stock plant {typed} in the log.")
    return found


def person_of(work: Work, *, typed: str, column: str) -> int | None:
    """Return the id of a person, one who does not sign in where new; None for a blank.

    Raises:
        NotAccepted: the name is not possible.
    """
    if not typed:
        return None
    if find_person(work.session, name_key=name_key(typed)) is None:
        work.note_new("people", typed)
    try:
        return keep_person(work.session, actor=work.actor, now=work.now, name=typed)
    except NotAccepted as refusal:
        raise NotAccepted.at(column, str(refusal)) from refusal


def mix_of(work: Work, *, typed: str, column: str) -> int | None:
    """Return the id of the newest recipe of a mix in the log; None for a blank.

    Raises:
        NotAccepted: there is no such mix.
    """
    if not typed:
        return None
    known = select(Mix.id).where(func.lower(Mix.name) == typed.lower())
    if work.session.scalar(known) is None:
        raise NotAccepted.at(column, f"There is no mix called {typed}. Enter its recipe first.")
    return keep_mix(work.session, actor=work.actor, now=work.now, name=typed)


def mix_lot_of(work: Work, *, typed: str, column: str) -> int | None:
    """Return the id of a mix lot by its code; None for a blank.

    Raises:
        NotAccepted: there is no such lot.
    """
    if not typed:
        return None
    number = parse_mix_lot_code(typed) or 0
    found = work.session.scalar(select(MixLot.id).where(MixLot.number == number))
    if found is None:
        raise NotAccepted.at(column, f"There is no mix lot {typed} in the log.")
    return found


def container_of(work: Work, *, typed: str, column: str) -> int | None:
    """Return the id of a container in the log; None for a blank.

    Raises:
        NotAccepted: there is none of this name.
    """
    if not typed:
        return None
    found = work.session.scalar(select(Container.id).where(Container.name == typed))
    if found is None:
        raise NotAccepted.at(column, f"There is no container called {typed}. Add it first.")
    return found


def hormone_of(work: Work, *, typed: str, column: str) -> int | None:
    """Return the id of a hormone as it is written in one line; None for a blank.

    Raises:
        NotAccepted: it cannot be read.
    """
    hormone = parse_hormone(typed, field=column)
    return None if hormone is None else keep_hormone(work.session, hormone=hormone)
