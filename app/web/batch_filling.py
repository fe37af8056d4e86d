"""From what is known to the form of a batch: its lists, a batch like another, a method card."""

import json
from collections.abc import Mapping
from dataclasses import asdict
from datetime import date
from typing import Any, Final

from wtforms import SelectChoice

from app.domain.batch_rules import SOURCE_WORDS, quantity_of
from app.domain.batches import BatchEntry
from app.domain.days import MONTHS
from app.domain.measures import hours_words
from app.domain.method_card_starts import StartingValues
from app.domain.way_details import WayDetails
from app.store.queries.batch_choices import BatchChoices, Choice
from app.store.queries.batches import BatchStory
from app.web.batch_reading import prefilled_of
from app.web.forms.batches import MOST_SOURCES, NOT_RECORDED, BatchForm

_PEOPLE: Final = ("gathered_by", "made_by", "stuck_by")
_OPEN_LISTS: Final = ("growth_stage", "placed")
_AS_THEY_ARE: Final = (
    "thrown_out_cause", "stored_how", "growth_stage", "placed", "cover", "shade", "trial_block",
    "own_reference", "notes",
)  # fmt: skip
_NUMBERS: Final = (
    "taken", "thrown_out", "stored_c", "gathered_hours", "made_hours", "hours", "length_cm",
    "leaves_left", "dip_s", "per_place", "bottom_heat_c",
)  # fmt: skip
_TICKS: Final = ("leaves_halved", "wounded", "flowering", "buds_removed")


def offer(form: BatchForm, *, choices: BatchChoices) -> None:
    """Give the form its lists to choose from."""
    form.bench.choices = _options(choices.benches)
    form.container.choices = _options(choices.containers)
    form.mix.choices = _options(choices.mixes)
    for name in _PEOPLE:
        form[name].choices = _options(choices.people)
    for name in _OPEN_LISTS:
        # What a sheet brought in may be none of the usual words; it is not lost by correcting.
        words = form[name].data
        if words and words not in {choice.value for choice in form[name].choices}:
            form[name].choices.append(SelectChoice(words))


def typed_day(day: date | None) -> str:
    """Return a day as a person would type it, so that it is read back as the same day."""
    return f"{day.day} {MONTHS[day.month - 1][:3]} {day.year}" if day else ""


def typed_batch(entry: BatchEntry, *, story: BatchStory, rootstock: str = "") -> dict[str, Any]:
    """Return the texts of the form for an entry whose references are named in a story.

    `entry` is the story's own, or a copy of it for another batch like it. `rootstock` is its name.
    """
    stuck = quantity_of(entry)
    in_trays = stuck.label.partition("(")[2].rstrip(")")
    typed: dict[str, Any] = {
        "plant": story.plant,
        "stuck": (in_trays or str(stuck.number)) if stuck.number else "",
        "cutting_type": _word(entry.cutting_type),
        "hormone": entry.hormone.label if entry.hormone else "",
        "container": _id(entry.container_id),
        "bench": _id(entry.bench_id),
        "stuck_on": typed_day(entry.stuck_on),
        "taken_on": typed_day(entry.taken_on),
        "stored_hours": "" if entry.stored_hours is None else hours_words(entry.stored_hours),
        "gathered_by": _id(entry.gathered_by_id),
        "made_by": _id(entry.made_by_id),
        "stuck_by": _id(entry.stuck_by_id),
        "cut": _word(entry.cut),
        "section": _word(entry.section),
        "mix": _id(entry.mix_version_id),
        "mix_lot": story.mix_lot,
        "restuck_from": story.restuck_from if entry.restuck_from_id else "",
        "card_version": _id(entry.method_card_version_id),
        "sources": _typed_sources(entry, story=story),
        **_typed_details(entry.details, rootstock=rootstock),
        **{name: getattr(entry, name) for name in _AS_THEY_ARE},
        **{name: _number(getattr(entry, name)) for name in _NUMBERS},
        **{name: _tick(getattr(entry, name)) for name in _TICKS},
    }
    return typed | {"prefilled": _as_json({name: typed[name] for name in entry.taken_over})}


def starting_texts(start: StartingValues, *, choices: BatchChoices) -> dict[str, str]:
    """Return the texts of the form's fields that a method card fills, those it says nothing on
    left out; a mix or a container only if there is one of that name.
    """
    texts = {
        "cut": _word(start.cut),
        "section": _word(start.section),
        "length_cm": _number(start.length_cm),
        "leaves_left": _number(start.leaves_left),
        "hormone": start.hormone.label if start.hormone else "",
        "mix": _named(choices.mixes, start.mix),
        "container": _named(choices.containers, start.container),
        "cover": start.cover,
        "bottom_heat_c": _number(start.bottom_heat_c),
    }
    return {name: text for name, text in texts.items() if text}


def fill_from_card(form: BatchForm, *, texts: Mapping[str, str], card_version_id: int) -> None:
    """Fill the form's blank fields, and those that another card had filled, from a card."""
    before = prefilled_of(form)
    filled = {}
    for name in before.keys() | texts.keys():
        stands = (form[name].data or "").strip() if name in form else None
        if stands is None or stands not in {"", before.get(name, "")}:
            continue
        form[name].data = texts.get(name, "")
        if name in texts:
            filled[name] = texts[name]
    form.card_version.data = str(card_version_id)
    form.prefilled.data = _as_json(filled)


def add_source_line(form: BatchForm) -> None:
    """Give the form one more line for a source."""
    if len(form.sources) < MOST_SOURCES:
        form.sources.append_entry()


def _typed_details(details: WayDetails, *, rootstock: str) -> dict[str, str]:
    return {
        "way_up": _word(details.way_up),
        "leaf_part": _word(details.leaf_part),
        "scale_kind": _word(details.scale_kind),
        "graft_method": _word(details.graft_method),
        "rootstock": rootstock,
        "rootstock_source": details.rootstock_source,
        "union_cm": _number(details.union_cm),
    }


def _typed_sources(entry: BatchEntry, *, story: BatchStory) -> list[dict[str, str]]:
    lines = []
    for line, told in zip(entry.sources, story.sources, strict=True):
        texts = {"kind": line.kind.value, "stock_plant": told.code, "number": _number(line.number)}
        words = {name: value for name, value in asdict(line).items() if name in SOURCE_WORDS}
        lines.append(texts | words)
    return lines


def _options(choices: tuple[Choice, ...]) -> list[SelectChoice]:
    named = (SelectChoice(str(choice.id), choice.name) for choice in choices)
    return [SelectChoice("", NOT_RECORDED), *named]


def _named(choices: tuple[Choice, ...], name: str) -> str:
    found = [choice.id for choice in choices if choice.name.casefold() == name.casefold()]
    return str(found[0]) if found and name else ""


def _as_json(texts: Mapping[str, str]) -> str:
    return json.dumps(texts, ensure_ascii=False, sort_keys=True) if texts else ""


def _id(value: int | None) -> str:
    return "" if value is None else str(value)


def _word(value: Any) -> str:
    return value.value if value else ""


def _number(value: float | None) -> str:
    return "" if value is None else f"{value:.10g}"


def _tick(value: bool | None) -> str:  # noqa: FBT001 - one value, turned into a word
    return {None: "", True: "yes", False: "no"}[value]
