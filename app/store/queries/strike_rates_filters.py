"""The conditions that the filters of a question about strike rates put on batches."""

from collections.abc import Iterable, Sequence
from difflib import get_close_matches
from typing import Final, TypeAlias

from sqlalchemy import ColumnElement, and_, or_, select
from sqlalchemy.orm import Session

from app.domain.batches import SourceKind
from app.domain.cutting_types import OTHER_WAYS, CuttingType
from app.domain.days import MONTHS
from app.domain.hormones import parse_hormone
from app.domain.problems import NotAccepted
from app.domain.strike_rates_keys import NOT_RECORDED, RateKey
from app.domain.strike_rates_questions import RateQuestion, Restuck, Ways
from app.store.models.batches import Batch, BatchFacts, BatchSource
from app.store.models.hormones import HormoneRow
from app.store.queries.strike_rates_names import (
    HORMONE_NOT_RECORDED,
    TYPE_NOT_RECORDED,
    Column,
    NameSource,
    day_column,
    source_of,
)

Condition: TypeAlias = ColumnElement[bool]

_HORMONE_COLUMNS: Final = (HormoneRow.id, HormoneRow.label)
_TEXTS: Final = frozenset({RateKey.CUTTING_TYPE, RateKey.COVER})
_OTHER_WAYS: Final = tuple(sorted(each.value for each in OTHER_WAYS))
_NUMBERS: Final = frozenset({RateKey.YEAR, RateKey.BOTTOM_HEAT})


def conditions_of(session: Session, *, question: RateQuestion) -> list[Condition]:
    """Return what must hold of every batch that the answer counts; voided ones never do.

    Raises:
        NotAccepted: a value is unknown; the problem's field is the name it was given for.
    """
    day = day_column(question.day_of)
    conditions: list[Condition] = [BatchFacts.voided == 0]
    conditions += [
        _any_of(session, key=key, values=values, question=question)
        for key in RateKey
        if (values := question.values_of(key))
    ]
    if question.since:
        conditions.append(day >= question.since)
    if question.until:
        conditions.append(day <= question.until)
    if question.restuck is Restuck.WITHOUT:
        conditions.append(Batch.restuck_from_id.is_(None))
    if question.restuck is Restuck.ONLY:
        conditions.append(Batch.restuck_from_id.is_not(None))
    if question.ways is Ways.CUTTINGS:
        conditions.append(BatchFacts.cutting_type.not_in(_OTHER_WAYS))
    if question.ways is Ways.OTHERS:
        conditions.append(BatchFacts.cutting_type.in_(_OTHER_WAYS))
    if question.only_person_id is not None:
        conditions.append(Batch.stuck_by_id == question.only_person_id)
    return conditions


def _any_of(
    session: Session, *, key: RateKey, values: tuple[str, ...], question: RateQuestion
) -> Condition:
    source = source_of(key, day_of=question.day_of)
    if key is RateKey.STOCK_PLANT and key not in question.by:
        return or_(*(_taken_from(session, value, source=source) for value in values))
    return or_(*(_matching(session, value, key=key, source=source) for value in values))


def _matching(session: Session, value: str, *, key: RateKey, source: NameSource) -> Condition:
    column = source.columns[-1]
    if key is RateKey.METHOD:
        return _method(session, value, columns=source.columns)
    if key is RateKey.STOCK_PLANT:
        return _source_line(session, value, columns=source.columns, source=source)
    if _is_blank(value):
        return column == "" if key in _TEXTS else column.is_(None)
    if key in _NUMBERS:
        return column == _number(value, key=key)
    if key is RateKey.MONTH:
        return column == _month(value)
    if key in _TEXTS:
        return column == _text(session, value, key=key)
    if key is RateKey.HORMONE:
        return column.in_(_hormone_ids(session, value, key=key))
    return column.in_(_ids(session, value, key=key, source=source))


def _is_blank(value: str) -> bool:
    return value.casefold() == NOT_RECORDED


def _taken_from(session: Session, value: str, *, source: NameSource) -> Condition:
    lines = select(BatchSource.id).where(BatchSource.batch_id == BatchFacts.batch_id)
    if _is_blank(value):
        return ~lines.exists()
    columns = (BatchSource.kind, BatchSource.stock_plant_id)
    return lines.where(_source_line(session, value, columns=columns, source=source)).exists()


def _source_line(
    session: Session, value: str, *, columns: Sequence[Column], source: NameSource
) -> Condition:
    kind, stock_plant_id = columns
    if _is_blank(value):
        return kind.is_(None)
    if value.casefold() in {SourceKind.BOUGHT_IN.value, SourceKind.COLLECTED.value}:
        return kind == value.casefold()
    return stock_plant_id.in_(_ids(session, value, key=RateKey.STOCK_PLANT, source=source))


def _method(session: Session, value: str, *, columns: Sequence[Column]) -> Condition:
    cutting_type, hormone_id = columns
    if _is_blank(value):
        return and_(cutting_type == "", hormone_id.is_(None))
    typed, comma, hormone = (part.strip() for part in value.partition(","))
    if not comma:
        sentence = (
            'Write a method as cutting type, comma, hormone, such as "semi-ripe, IBA talc 1000 ppm"'
            ' or "softwood, no hormone".'
        )
        raise NotAccepted.at(RateKey.METHOD.value, sentence)
    no_type = typed.casefold() == TYPE_NOT_RECORDED
    no_hormone = hormone.casefold() == HORMONE_NOT_RECORDED
    return and_(
        cutting_type == ("" if no_type else _cutting_type(typed, key=RateKey.METHOD)),
        hormone_id.is_(None)
        if no_hormone
        else hormone_id.in_(_hormone_ids(session, hormone, key=RateKey.METHOD)),
    )


def _hormone_ids(session: Session, value: str, *, key: RateKey) -> list[int]:
    hormone = parse_hormone(value, field=key.value)
    label = hormone.label if hormone else value
    labels = [(row.id, row.label) for row in session.execute(select(*_HORMONE_COLUMNS))]
    return _called(label, known=labels, key=key)


def _ids(session: Session, value: str, *, key: RateKey, source: NameSource) -> list[int]:
    register = source.register
    assert register is not None  # noqa: S101 - every name that is no text or number has one
    rows = session.execute(select(register.id, register.label))
    return _called(value, known=[(number, label) for number, label in rows], key=key)


def _called(value: str, *, known: Sequence[tuple[int, str]], key: RateKey) -> list[int]:
    wanted = value.casefold()
    found = [number for number, label in known if label.casefold() == wanted]
    if not found:
        raise _unknown(value, known=(label for _, label in known), key=key)
    return found


def _text(session: Session, value: str, *, key: RateKey) -> str:
    if key is RateKey.CUTTING_TYPE:
        return _cutting_type(value, key=key)
    covers = session.scalars(select(Batch.cover).where(Batch.cover != "").distinct()).all()
    for cover in covers:
        if cover.casefold() == value.casefold():
            return cover
    raise _unknown(value, known=covers, key=key)


def _cutting_type(value: str, *, key: RateKey) -> str:
    try:
        return CuttingType(value.casefold()).value
    except ValueError:
        raise _unknown(value, known=CuttingType, key=key) from None


def _month(value: str) -> int:
    if value.isdecimal() and 1 <= int(value) <= len(MONTHS):
        return int(value)
    starts = [
        place
        for place, name in enumerate(MONTHS, start=1)
        if len(value) >= len("jan") and name.casefold().startswith(value.casefold())
    ]
    if len(starts) != 1:
        sentence = f'Give a month from 1 to 12 or by name, such as "4" or "April", not "{value}".'
        raise NotAccepted.at(RateKey.MONTH.value, sentence)
    return starts[0]


def _number(value: str, *, key: RateKey) -> float:
    digits = value.removesuffix("°C").strip().replace(",", ".")
    if not digits.replace(".", "", 1).isdecimal():
        example = "2026" if key is RateKey.YEAR else "20"
        sentence = f'Give {key.label} as a number, such as "{example}", not "{value}".'
        raise NotAccepted.at(key.value, sentence)
    return float(digits)


def _unknown(value: str, *, known: Iterable[str], key: RateKey) -> NotAccepted:
    by_folded = {label.casefold(): label for label in known}
    near = get_close_matches(value.casefold(), by_folded, n=3, cutoff=0.6)
    hint = " or ".join(f'"{by_folded[label]}"' for label in near)
    sentence = f'There is no {key.label} "{value}" in the log.'
    return NotAccepted.at(key.value, f"{sentence} Did you mean {hint}?" if hint else sentence)
