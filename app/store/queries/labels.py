"""Reading what labels say: each kind of record is one small query, named in one list.

A further kind of label is a function from codes to what stands on them, and a line in KINDS.
"""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Final, Protocol

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from app.domain.codes import (
    bench_code,
    label_number_code,
    mix_lot_code,
    parse_batch_code,
    parse_bench_code,
    parse_label_number,
    parse_mix_lot_code,
    parse_stock_plant_code,
    stock_plant_code,
)
from app.domain.days import MONTHS
from app.domain.label_codes import WantedCode
from app.domain.labels import LabelText
from app.domain.plant_name_parts import NamePiece
from app.domain.plant_names import kept_plant_name
from app.domain.problems import NotAccepted
from app.store.models.batches import Batch
from app.store.models.benches import Bench
from app.store.models.labels import LabelAddress
from app.store.models.mixes import Mix, MixLot, MixVersion
from app.store.models.plant_names import PlantNameRow
from app.store.models.stock_plants import StockPlant
from app.store.queries.label_numbers import read_number_labels

_CHUNK: Final = 500
_MOST_NAMED: Final = 5


class Reader(Protocol):
    """Gives what the labels of some codes say, by code, without those that are not there."""

    def __call__(self, session: Session, /, *, codes: Sequence[str]) -> Mapping[str, LabelText]:
        """Return the texts."""
        ...


@dataclass(frozen=True, kw_only=True)
class LabelKind:
    """A kind of record that gets labels.

    `canonical` returns a typed code as it is written, "" for none; `read` gives what the labels
    of some codes say, by code, without those that are not there. With `spaced` a code may be a
    name with spaces in it. `in_trays` says whether there can be one label per tray.
    """

    name: str
    words: str
    example: str
    canonical: Callable[[str], str]
    read: Reader
    spaced: bool = False
    in_trays: bool = False


@dataclass(frozen=True, kw_only=True)
class KnownAddress:
    """The address the codes lead to, "" where none was set, and its version."""

    address: str
    version: int


def get_label_address(session: Session) -> KnownAddress:
    """Return the address that was set for labels."""
    row = session.execute(select(LabelAddress.__table__)).one_or_none()
    if row is None:
        return KnownAddress(address="", version=1)
    return KnownAddress(address=row.address, version=row.version)


def list_label_texts(
    session: Session, *, kind: LabelKind, codes: Sequence[WantedCode]
) -> tuple[LabelText, ...]:
    """Return what the labels of these records say, in the order asked for.

    Raises:
        NotAccepted: at "codes", a record named by itself is not there.
    """
    found: dict[str, LabelText] = {}
    for chunk in _chunks([wanted.code for wanted in codes]):
        found.update(kind.read(session, codes=chunk))
    missing = [each.code for each in codes if each.code not in found and not each.of_span]
    if missing:
        more = f" and {len(missing) - _MOST_NAMED} more" if len(missing) > _MOST_NAMED else ""
        named = ", ".join(missing[:_MOST_NAMED])
        raise NotAccepted.at("codes", f"Nothing to label is called {named}{more}: look again.")
    texts = [found[each.code] for each in codes if each.code in found]
    # A name and a code can lead to the same record.
    return tuple({text.code: text for text in texts}.values())


def list_codes_stuck_on(session: Session, *, day: date) -> tuple[str, ...]:
    """Return the codes of the batches stuck on a day, void ones left out."""
    query = (
        select(Batch.code)
        .where(Batch.stuck_on == day, Batch.voided_at.is_(None))
        .order_by(Batch.year, Batch.number)
    )
    return tuple(session.scalars(query))


def _read_batches(session: Session, *, codes: Sequence[str]) -> Mapping[str, LabelText]:
    query = (
        select(Batch.code, PlantNameRow.plain, Batch.stuck_on, Batch.trays)
        .join(PlantNameRow, PlantNameRow.id == Batch.plant_name_id)
        .where(Batch.code.in_(codes), Batch.voided_at.is_(None))
    )
    return {
        row.code: LabelText(
            code=row.code,
            name=kept_plant_name(row.plain).pieces,
            said=f"stuck {_day(row.stuck_on)}",
            trays=row.trays,
        )
        for row in session.execute(query)
    }


def _read_stock_plants(session: Session, *, codes: Sequence[str]) -> Mapping[str, LabelText]:
    query = (
        select(StockPlant.code, PlantNameRow.plain, StockPlant.came_on)
        .join(PlantNameRow, PlantNameRow.id == StockPlant.plant_name_id)
        .where(StockPlant.code.in_(codes))
    )
    return {
        row.code: LabelText(
            code=row.code,
            name=kept_plant_name(row.plain).pieces,
            said=f"stock plant, came {_day(row.came_on)}" if row.came_on else "stock plant",
        )
        for row in session.execute(query)
    }


def _read_mix_lots(session: Session, *, codes: Sequence[str]) -> Mapping[str, LabelText]:
    query = (
        select(MixLot.code, Mix.name, MixLot.made_on)
        .join(MixVersion, MixVersion.id == MixLot.mix_version_id)
        .join(Mix, Mix.id == MixVersion.mix_id)
        .where(MixLot.code.in_(codes))
    )
    return {
        row.code: LabelText(
            code=row.code,
            name=(NamePiece(text=row.name),),
            said=f"made up {_day(row.made_on)}",
        )
        for row in session.execute(query)
    }


def _read_benches(session: Session, *, codes: Sequence[str]) -> Mapping[str, LabelText]:
    """Return the labels of benches by their code, and by their name as it was typed."""
    by_number = {number: code for code in codes if (number := parse_bench_code(code))}
    by_name = {code.lower(): code for code in codes}
    query = select(Bench.id, Bench.name).where(
        Bench.id.in_(by_number) | func.lower(Bench.name).in_(by_name)
    )
    found = {}
    for row in session.execute(query):
        text = LabelText(code=bench_code(row.id), name=(NamePiece(text=row.name),), said="bench")
        for typed in (by_number.get(row.id), by_name.get(row.name.lower())):
            if typed is not None:
                found[typed] = text
    return found


def _batch_code(typed: str) -> str:
    code = parse_batch_code(typed)
    return "" if code is None else str(code)


def _stock_plant_code(typed: str) -> str:
    number = parse_stock_plant_code(typed)
    return "" if number is None else stock_plant_code(number)


def _mix_lot_code(typed: str) -> str:
    number = parse_mix_lot_code(typed)
    return "" if number is None else mix_lot_code(number)


def _bench_code(typed: str) -> str:
    number = parse_bench_code(typed)
    return typed if number is None else bench_code(number)


def _label_number(typed: str) -> str:
    number = parse_label_number(typed)
    return "" if number is None else label_number_code(number)


def _day(day: date) -> str:
    return f"{day.day} {MONTHS[day.month - 1][:3]} {day.year}"


def _chunks(codes: Sequence[str]) -> Iterator[Sequence[str]]:
    for start in range(0, len(codes), _CHUNK):
        yield codes[start : start + _CHUNK]


KINDS: Final[Mapping[str, LabelKind]] = {
    kind.name: kind
    for kind in (
        LabelKind(
            name="batches",
            words="Batches",
            example="26-0147",
            canonical=_batch_code,
            read=_read_batches,
            in_trays=True,
        ),
        LabelKind(
            name="stock-plants",
            words="Stock plants",
            example="S-0031",
            canonical=_stock_plant_code,
            read=_read_stock_plants,
        ),
        LabelKind(
            name="mix-lots",
            words="Mix lots",
            example="M-0012",
            canonical=_mix_lot_code,
            read=_read_mix_lots,
        ),
        LabelKind(
            name="benches",
            words="Benches",
            example="Mist bench 2",
            canonical=_bench_code,
            read=_read_benches,
            spaced=True,
        ),
        LabelKind(
            name="numbers",
            words="Printed ahead",
            example="N-0042",
            canonical=_label_number,
            read=read_number_labels,
        ),
    )
}
"""The kinds of records that get labels, by the name they go by in addresses and commands."""
