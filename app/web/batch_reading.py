"""From the form of a batch, as typed, to its entry; every problem is gathered by its field."""

import json
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import date, datetime
from difflib import get_close_matches
from enum import StrEnum
from typing import Any, Final, TypeVar

from sqlalchemy.orm import Session
from wtforms import Field

from app.domain.batch_rules import RANGES, SOURCE_WORDS
from app.domain.batches import CARD_FIELDS, BatchEntry, SourceKind, SourceLine
from app.domain.codes import parse_mix_lot_code
from app.domain.cutting_types import Cut, CuttingType, Section
from app.domain.days import parse_optional_day
from app.domain.hormones import parse_hormone
from app.domain.measures import parse_hours, parse_measure
from app.domain.people import Actor
from app.domain.plant_names import NameStatus
from app.domain.problems import NotAccepted, Problem
from app.domain.quantities import Quantity, parse_optional_quantity, parse_quantity
from app.services.plant_names import ResolvedPlant, keep_plant_name, resolve_plant
from app.store.queries.batch_links import (
    find_card_version_id,
    find_mix_lot_id,
    list_genus_names,
    plugs_of,
)
from app.store.queries.batches import find_batch_id
from app.store.queries.stock_plants import find_stock_plant_id
from app.web.batch_way_reading import read_details
from app.web.forms.batches import BatchForm

_T = TypeVar("_T")
_CHOOSE: Final = "Choose one from the list."
_MEASURES: Final = (
    "stored_c", "gathered_hours", "made_hours", "hours", "length_cm", "dip_s", "bottom_heat_c",
)  # fmt: skip
_COUNTS: Final = ("taken", "thrown_out", "leaves_left", "per_place")
_YES_OR_NO: Final = {"": None, "yes": True, "no": False}
_TICKS: Final = ("leaves_halved", "wounded", "flowering", "buds_removed")
_TEXTS: Final = (
    "thrown_out_cause", "stored_how", "growth_stage", "placed", "cover", "shade", "trial_block",
    "own_reference", "hold_reason", "rights_reason", "notes",
)  # fmt: skip
_LISTS: Final = {
    "container": "container_id",
    "bench": "bench_id",
    "mix": "mix_version_id",
    "gathered_by": "gathered_by_id",
    "made_by": "made_by_id",
    "stuck_by": "stuck_by_id",
}


@dataclass(frozen=True, kw_only=True)
class ReadBatch:
    """An entry as read from a form, and on which line of it each source stands.

    A source that was named in the box of the plant has no line: None.
    """

    entry: BatchEntry
    lines: tuple[int | None, ...]

    @contextmanager
    def lines_as_typed(self) -> Iterator[None]:
        """Put what is refused about a source beside the line it was typed on."""
        try:
            yield
        except NotAccepted as refusal:
            raise NotAccepted(tuple(self._as_typed(each) for each in refusal.problems)) from refusal

    def _as_typed(self, problem: Problem) -> Problem:
        head, _, rest = problem.field.partition("-")
        place, _, field = rest.partition("-")
        if head != "sources" or not place.isdecimal():
            return problem
        line = self.lines[int(place)]
        moved = "plant" if line is None else f"sources-{line}-{field}"
        return Problem(field=moved, sentence=problem.sentence)


class _Gathered:
    """Reads one thing after the other and keeps every refusal."""

    def __init__(self) -> None:
        self.problems: list[Problem] = []

    def read(self, reading: Callable[[], _T]) -> _T | None:
        """Return what was read, None where it was refused."""
        try:
            return reading()
        except NotAccepted as refusal:
            self.problems += refusal.problems
            return None

    def one_of(self, field: Field, known: type[StrEnum]) -> Any:
        """Return the member chosen, None for a blank or an unknown one."""
        if not field.data:
            return None
        try:
            return known(field.data)
        except ValueError:
            self.problems.append(Problem(field=field.short_name, sentence=_CHOOSE))
            return None

    def listed(self, field: Field) -> int | None:
        """Return the id chosen from a list, None for a blank or one that was not offered."""
        chosen = field.data or ""
        if chosen and chosen not in {choice.value for choice in field.choices}:
            self.problems.append(Problem(field=field.short_name, sentence=_CHOOSE))
            return None
        return int(chosen) if chosen else None


def read_batch(
    session: Session, *, form: BatchForm, actor: Actor, today: date, now: datetime
) -> ReadBatch:
    """Return what the form says; a new plant name that was confirmed is kept with it.

    Raises:
        NotAccepted: for everything that cannot be read, by its field.
    """
    gathered = _Gathered()
    plant = gathered.read(lambda: _plant(session, form))
    values: dict[str, Any] = {
        **_lists(gathered, form),
        **_numbers(gathered, form),
        **_ways(gathered, form),
        **_days(gathered, form, today=today),
        **{name: " ".join(_text(form[name]).split()) for name in _TEXTS if name != "notes"},
        "notes": _text(form.notes),
    }
    stuck = gathered.read(lambda: _stuck(session, form, container_id=values["container_id"]))
    values |= _links(gathered, session, form)
    details = read_details(session, form, gathered=gathered)
    sources = _sources(gathered, session, form)
    if gathered.problems or plant is None or stuck is None:
        raise NotAccepted(tuple(gathered.problems))
    named = _with_named_plant(sources, plant)
    plant_name_id = plant.plant_name_id or keep_plant_name(
        session, actor=actor, now=now, name=plant.name
    )
    entry = BatchEntry(
        plant_name_id=plant_name_id,
        details=details.kept(session, actor=actor, now=now),
        stuck=stuck.number,
        trays=stuck.trays,
        per_tray=stuck.per_tray,
        gaps=stuck.gaps if stuck.trays is not None else None,
        sources=tuple(line for _, line in named),
        **values,
    )
    return ReadBatch(entry=entry, lines=tuple(place for place, _ in named))


def _with_named_plant(
    sources: list[tuple[int, SourceLine]], plant: ResolvedPlant
) -> list[tuple[int | None, SourceLine]]:
    """Return the sources with their lines; a stock plant named in the plant's box comes first."""
    lines: list[tuple[int | None, SourceLine]] = [*sources]
    if plant.stock_plant_id in {None, *(line.stock_plant_id for _, line in sources)}:
        return lines
    named = SourceLine(kind=SourceKind.STOCK_PLANT, stock_plant_id=plant.stock_plant_id)
    return [(None, named), *lines]


def _text(field: Field) -> str:
    return (field.data or "").strip()


def _plant(session: Session, form: BatchForm) -> ResolvedPlant:
    typed = _text(form.plant)
    if not typed:
        sentence = "Type the plant name, such as Hebe 'Great Orme', or a stock plant's code."
        raise NotAccepted.at("plant", sentence)
    plant = resolve_plant(session, typed=typed)
    if plant.plant_name_id is None and not form.new_plant.data:
        form.asks_new_plant = True
        raise NotAccepted.at("plant", _new_name(session, plant))
    return plant


def _new_name(session: Session, plant: ResolvedPlant) -> str:
    plain = plant.name.plain
    near = get_close_matches(plain, list_genus_names(session, genus=plant.name.genus), n=3)
    meant = f" Did you mean {' or '.join(near)}?" if near else ""
    notes = "".join(f" {note}" for note in plant.notes if plant.status is NameStatus.WARN)
    return f"{plain} is not in the log yet.{meant}{notes} If it is new, tick the box below it."


def _stuck(session: Session, form: BatchForm, *, container_id: int | None) -> Quantity:
    plugs = plugs_of(session, container_id=container_id)
    return parse_quantity(_text(form.stuck), field="stuck", least=1, per_tray=plugs)


def _lists(gathered: _Gathered, form: BatchForm) -> dict[str, Any]:
    return {name: gathered.listed(form[field]) for field, name in _LISTS.items()}


def _numbers(gathered: _Gathered, form: BatchForm) -> dict[str, Any]:
    values: dict[str, Any] = {}
    for name in _MEASURES:
        low, high, unit = RANGES[name]
        values[name] = gathered.read(
            lambda name=name, low=low, high=high, unit=unit: parse_measure(  # type: ignore[misc]
                _text(form[name]), field=name, low=low, high=high, unit=unit
            )
        )
    low, high, _unit = RANGES["stored_hours"]
    values["stored_hours"] = gathered.read(
        lambda: parse_hours(_text(form.stored_hours), field="stored_hours", low=low, high=high)
    )
    for name in _COUNTS:
        count = gathered.read(
            lambda name=name: parse_optional_quantity(  # type: ignore[misc]
                _text(form[name]), field=name
            )
        )
        values[name] = count.number if count else None
    return values


def _ways(gathered: _Gathered, form: BatchForm) -> dict[str, Any]:
    return {
        "cutting_type": gathered.one_of(form.cutting_type, CuttingType),
        "cut": gathered.one_of(form.cut, Cut),
        "section": gathered.one_of(form.section, Section),
        "hormone": gathered.read(lambda: parse_hormone(_text(form.hormone))),
        **{name: _YES_OR_NO.get(form[name].data or "") for name in _TICKS},
    }


def _days(gathered: _Gathered, form: BatchForm, *, today: date) -> dict[str, Any]:
    stuck_on = gathered.read(
        lambda: parse_optional_day(_text(form.stuck_on), today=today, field="stuck_on")
    )
    taken_on = gathered.read(
        lambda: parse_optional_day(_text(form.taken_on), today=today, field="taken_on")
    )
    return {"stuck_on": stuck_on or today, "taken_on": taken_on}


def _links(gathered: _Gathered, session: Session, form: BatchForm) -> dict[str, Any]:
    typed_card = _text(form.card_version)
    return {
        "mix_lot_id": gathered.read(lambda: _mix_lot(session, _text(form.mix_lot))),
        "restuck_from_id": gathered.read(lambda: _parent(session, _text(form.restuck_from))),
        "method_card_version_id": find_card_version_id(session, typed=typed_card),
        "taken_over": _taken_over(form),
    }


def _mix_lot(session: Session, typed: str) -> int | None:
    if not typed:
        return None
    found = find_mix_lot_id(session, number=parse_mix_lot_code(typed) or 0)
    if found is None:
        raise NotAccepted.at("mix_lot", f"There is no mix lot {typed}. Its code is like M-0001.")
    return found


def _parent(session: Session, typed: str) -> int | None:
    if not typed:
        return None
    found = find_batch_id(session, code=typed)
    if found is None:
        sentence = f"There is no batch {typed}. Its code is like 26-0147."
        raise NotAccepted.at("restuck_from", sentence)
    return found


def _taken_over(form: BatchForm) -> tuple[str, ...]:
    """Return the fields that were filled from the card and stand as they were filled."""
    filled = prefilled_of(form)
    return tuple(
        name for name in CARD_FIELDS if filled.get(name) and filled[name] == _text(form[name])
    )


def prefilled_of(form: BatchForm) -> dict[str, str]:
    """Return the texts that were filled in from a card, by field; nothing if that is unreadable."""
    try:
        filled = json.loads(form.prefilled.data or "{}")
    except ValueError:
        return {}
    if not isinstance(filled, dict):
        return {}
    return {name: text for name, text in filled.items() if isinstance(text, str)}


def _sources(
    gathered: _Gathered, session: Session, form: BatchForm
) -> list[tuple[int, SourceLine]]:
    lines = []
    for place, line in enumerate(form.sources):
        if not _is_blank(line.form):
            read = gathered.read(
                lambda at=f"sources-{place}", line=line: _source(  # type: ignore[misc]
                    session, line.form, at=at
                )
            )
            if read is not None:
                lines.append((place, read))
    return lines


def _is_blank(line: Any) -> bool:
    texts = (_text(field) for field in line if field.short_name != "kind")
    return line.kind.data in {"", None, SourceKind.STOCK_PLANT.value} and not any(texts)


def _source(session: Session, line: Any, *, at: str) -> SourceLine:
    typed, stock_plant_id = _text(line.stock_plant), None
    if typed:
        stock_plant_id = find_stock_plant_id(session, code=typed)
        if stock_plant_id is None:
            sentence = f"There is no stock plant {typed}. Its code is like S-0031."
            raise NotAccepted.at(f"{at}-stock_plant", sentence)
    number = parse_optional_quantity(_text(line.number), field=f"{at}-number", least=1)
    return SourceLine(
        kind=SourceKind(line.kind.data or SourceKind.STOCK_PLANT),
        stock_plant_id=stock_plant_id,
        **{name: " ".join(_text(line[name]).split()) for name in SOURCE_WORDS},
        number=number.number if number else None,
    )
