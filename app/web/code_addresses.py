"""From a code, typed or scanned, to the address of its record."""

from typing import Final

from flask import url_for
from sqlalchemy.orm import Session

from app.domain.codes import (
    bench_code,
    hold_code,
    label_number_code,
    liner_lot_code,
    mix_lot_code,
    parse_batch_code,
    parse_bench_code,
    parse_hold_code,
    parse_label_number,
    parse_liner_lot_code,
    parse_mix_lot_code,
    parse_practical_code,
    parse_stock_plant_code,
    practical_code,
    stock_plant_code,
)
from app.domain.permissions import Permission
from app.store.queries.batches import find_batch_id
from app.store.queries.benches import has_bench
from app.store.queries.holds import has_hold
from app.store.queries.label_numbers import KnownNumber, find_label_number
from app.store.queries.liner_lots import find_liner_lot_id
from app.store.queries.mix_lots import has_mix_lot
from app.store.queries.practicals import has_practical
from app.store.queries.stock_plants import find_stock_plant_id
from app.store.queries.waited_entries import list_marked
from app.web.permissions import may


def record_address(session: Session, text: str) -> str:
    """Return the address of the record of this code, "" if there is none."""
    if find_batch_id(session, code=text) is not None:
        return url_for("batches.show", code=str(parse_batch_code(text)))
    marked = list_marked(session, mark=text.upper())
    if len(marked) == 1:
        return url_for("batches.show", code=marked[0])
    label = find_label_number(session, text=text)
    if label is not None:
        return _address_of_label(label)
    return _address_of_other(session, text)


def _address_of_other(session: Session, text: str) -> str:
    """Return the address of a record whose code begins with a letter, "" if there is none."""
    number = parse_stock_plant_code(text)
    if number is not None and find_stock_plant_id(session, code=text) is not None:
        return url_for("stock_plants.show", code=stock_plant_code(number))
    lot = parse_mix_lot_code(text)
    if lot is not None and has_mix_lot(session, number=lot):
        return url_for("mix_lots.show", code=mix_lot_code(lot))
    bench_id = parse_bench_code(text)
    if bench_id is not None and has_bench(session, bench_id=bench_id):
        return url_for("benches.show", bench_id=bench_id)
    hold = parse_hold_code(text)
    if hold is not None and has_hold(session, number=hold):
        return url_for("holds.show", code=hold_code(hold))
    liners = parse_liner_lot_code(text)
    if liners is not None and find_liner_lot_id(session, code=text) is not None:
        return url_for("liner_lots.show", code=liner_lot_code(liners))
    practical = parse_practical_code(text)
    if practical is not None and has_practical(session, number=practical):
        return url_for("practicals.show", code=practical_code(practical))
    return ""


def _address_of_label(label: KnownNumber) -> str:
    """Return the batch a label printed ahead is on; a free one begins a batch."""
    if not label.is_free:
        return url_for("batches.show", code=label.batch)
    return url_for("sticking.create", tag=label.code) if may(Permission.STICK) else ""


def code_without_record(text: str) -> str:
    """Return the code that was typed in words, as it is written; "" where it is no code."""
    batch = parse_batch_code(text)
    if batch is not None:
        return f"batch {batch}"
    for words, parse, written in _LETTERED:
        number = parse(text)
        if number is not None:
            return f"{words} {written(number)}"
    return ""


_LETTERED: Final = (
    ("stock plant", parse_stock_plant_code, stock_plant_code),
    ("mix lot", parse_mix_lot_code, mix_lot_code),
    ("bench", parse_bench_code, bench_code),
    ("hold", parse_hold_code, hold_code),
    ("practical session", parse_practical_code, practical_code),
    ("liner lot", parse_liner_lot_code, liner_lot_code),
    ("label printed ahead", parse_label_number, label_number_code),
)
