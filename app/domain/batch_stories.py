"""What was entered of a batch, told in sentences."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date
from typing import Final

from app.domain.batches import BatchEntry, is_uncovered
from app.domain.containers import ContainerKind
from app.domain.cutting_types import Cut, CuttingType
from app.domain.days import day_short
from app.domain.outcomes import cuttings
from app.domain.way_details import details_words
from app.domain.way_words import told_for

_CUTS: Final = {
    Cut.NODAL: "cut just below a node",
    Cut.INTERNODAL: "cut between nodes",
    Cut.HEEL: "with a heel",
    Cut.MALLET: "with a mallet",
}
_NOUNS: Final = {CuttingType.DIVISION: "divisions", CuttingType.GRAFT: "grafts"}
_SAME_DAY: Final = "taken the same day"
_SMALL: Final = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine")
_FIELD_WORDS: Final = {"bottom_heat_c": "bottom heat", "length_cm": "length"}


@dataclass(frozen=True, kw_only=True)
class BatchNames:
    """The names of what an entry refers to; "" where nothing is recorded."""

    mix: str = ""
    mix_lot: str = ""
    container: str = ""
    container_kind: ContainerKind | None = None
    bench: str = ""
    gathered_by: str = ""
    made_by: str = ""
    stuck_by: str = ""
    rootstock: str = ""


def story_of(entry: BatchEntry, *, names: BatchNames, today: date) -> tuple[str, ...]:
    """Return the sentences of what was stuck, how, where and by whom; then what is unknown."""
    sentences = (
        _what(entry),
        _way(entry, names),
        _where(entry, names),
        told_for(_when(entry, names, today=today), cutting_type=entry.cutting_type),
        _taken_over(entry),
        _unknown(entry, names),
    )
    return tuple(sentence for sentence in sentences if sentence)


def what_stuck(entry: BatchEntry) -> str:
    """Return "96 semi-ripe tip cuttings"."""
    kinds = [entry.cutting_type, entry.section]
    words = [kind.value for kind in kinds if kind and kind not in _NOUNS]
    noun = _NOUNS.get(entry.cutting_type) if entry.cutting_type else None
    if noun is None:
        return " ".join([f"{entry.stuck:,}", *words, cuttings(entry.stuck).split(" ", 1)[1]])
    return " ".join([f"{entry.stuck:,}", *words, noun if entry.stuck != 1 else noun[:-1]])


def _what(entry: BatchEntry) -> str:
    trays = ""
    if entry.trays is not None and entry.per_tray is not None:
        less = f" less {entry.gaps:,}" if entry.gaps else ""
        word = "tray" if entry.trays == 1 else "trays"
        trays = f" ({entry.trays:,} {word} of {entry.per_tray:,}{less})"
    material = _joined([what_stuck(entry) + trays, *_material(entry)])
    return f"{material}; {_hormone(entry)}." if entry.hormone else f"{material}."


def _way(entry: BatchEntry, names: BatchNames) -> str:
    words = details_words(entry.details, cutting_type=entry.cutting_type, rootstock=names.rootstock)
    return f"{words[0].upper()}{words[1:]}." if words else ""


def _material(entry: BatchEntry) -> Iterator[str]:
    if entry.cut:
        yield _CUTS[entry.cut]
    if entry.length_cm is not None:
        yield f"{entry.length_cm:g} cm"
    if leaves := _leaves(entry):
        yield leaves
    if entry.growth_stage:
        yield f"shoots {entry.growth_stage}"
    if entry.flowering:
        yield "in flower or bud"
    if entry.buds_removed:
        yield "flower buds removed"
    if entry.wounded is not None:
        yield "wounded" if entry.wounded else "not wounded"


def _leaves(entry: BatchEntry) -> str:
    if entry.leaves_left is None:
        return "leaves halved" if entry.leaves_halved else ""
    word = "leaf" if entry.leaves_left == 1 else "leaves"
    return f"{_small(entry.leaves_left)} {word} left{' and halved' if entry.leaves_halved else ''}"


def _hormone(entry: BatchEntry) -> str:
    label = entry.hormone.label if entry.hormone else ""
    return f"{label} for {_time(entry.dip_s)}" if entry.dip_s else label


def _where(entry: BatchEntry, names: BatchNames) -> str:
    parts = [_container(entry, names)]
    if names.mix:
        parts.append(f"in {names.mix}" + (f" (lot {names.mix_lot})" if names.mix_lot else ""))
    if entry.cover:
        parts.append(_cover(entry.cover))
    if entry.bottom_heat_c is not None:
        parts.append(f"bottom heat {entry.bottom_heat_c:g} °C")
    if entry.shade:
        parts.append(f"shade: {entry.shade}")
    if names.bench:
        parts.append(f"on {names.bench}")
    sentence = _joined(part for part in parts if part)
    return f"{sentence[0].upper()}{sentence[1:]}." if sentence else ""


def _cover(cover: str) -> str:
    if is_uncovered(cover):
        return "uncovered"
    return cover if cover.endswith("covered") else f"under {cover}"


def _container(entry: BatchEntry, names: BatchNames) -> str:
    placed = f" {entry.placed}" if entry.placed else ""
    if not entry.per_place:
        return names.container + placed if names.container else ""
    if names.container_kind is ContainerKind.TRAY:
        return f"{_small(entry.per_place)}{placed} in each plug of {names.container}"
    return f"{_small(entry.per_place)}{placed} in each {names.container or 'plug or pot'}"


def _when(entry: BatchEntry, names: BatchNames, *, today: date) -> str:
    taken = _taken(entry, names, today=today)
    stored = _stored(entry)
    if entry.taken_on == entry.stuck_on and taken == _taken_on(entry, today=today):
        taken = _SAME_DAY
    made = _made(entry, names)
    by = f" by {names.stuck_by}" if names.stuck_by else ""
    speed = ""
    if entry.hours:
        speed = f" in {_hours(entry.hours)} ({round(entry.stuck / entry.hours):,} an hour)"
    stuck = f"stuck on {day_short(entry.stuck_on, today=today)}{by}{speed}"
    parts = (stuck, taken, stored, made) if taken == _SAME_DAY else (taken, stored, made, stuck)
    sentence = _joined(part for part in parts if part)
    return f"{sentence[0].upper()}{sentence[1:]}."


def _taken(entry: BatchEntry, names: BatchNames, *, today: date) -> str:
    on = _taken_on(entry, today=today).removeprefix("taken")
    by = f" by {names.gathered_by}" if names.gathered_by else ""
    number = f" {entry.taken:,}" if entry.taken is not None else ""
    took = f" in {_hours(entry.gathered_hours)}" if entry.gathered_hours else ""
    because = f" ({entry.thrown_out_cause})" if entry.thrown_out_cause else ""
    out = f", {entry.thrown_out:,} thrown out at making{because}" if entry.thrown_out else ""
    said = f"{number}{on}{by}{took}{out}"
    return f"taken{said}" if said else ""


def _made(entry: BatchEntry, names: BatchNames) -> str:
    by = f" by {names.made_by}" if names.made_by else ""
    took = f" in {_hours(entry.made_hours)}" if entry.made_hours else ""
    return f"made{by}{took}" if by or took else ""


def _hours(hours: float) -> str:
    return "1 hour" if hours == 1 else f"{hours:g} hours"


def _taken_on(entry: BatchEntry, *, today: date) -> str:
    return f"taken on {day_short(entry.taken_on, today=today)}" if entry.taken_on else ""


def _stored(entry: BatchEntry) -> str:
    hours = f" {_time(entry.stored_hours * 3600)}" if entry.stored_hours else ""
    at = f" at {entry.stored_c:g} °C" if entry.stored_c is not None else ""
    how = f" ({entry.stored_how})" if entry.stored_how else ""
    return f"stored{hours}{at}{how}" if hours or at or how else ""


def _taken_over(entry: BatchEntry) -> str:
    if not entry.taken_over:
        return ""
    fields = _and(field_words(field) for field in entry.taken_over)
    verb = "was" if len(entry.taken_over) == 1 else "were"
    sentence = f"{fields} {verb} taken over from the method card, not measured."
    return sentence[0].upper() + sentence[1:]


def _unknown(entry: BatchEntry, names: BatchNames) -> str:
    missing = {
        "cutting type": entry.cutting_type is None,
        "hormone": entry.hormone is None,
        "mix": not names.mix,
        "container": not names.container,
        "cover": not entry.cover,
        "bench": not names.bench,
    }
    words = _and(word for word, is_missing in missing.items() if is_missing)
    return f"Not recorded: {words}." if words else ""


def field_words(field: str) -> str:
    """Return the name of a field as a sentence says it."""
    return _FIELD_WORDS.get(field, field.replace("_", " "))


def _time(seconds: float) -> str:
    for size, word in ((604_800, "weeks"), (86_400, "days"), (3600, "hours"), (60, "minutes")):
        if seconds >= 2 * size:
            return f"{seconds / size:.3g} {word}"
    return f"{seconds:.3g} seconds"


def _small(number: int) -> str:
    return _SMALL[number] if number < len(_SMALL) else f"{number:,}"


def _joined(parts: Iterable[str]) -> str:
    return ", ".join(parts)


def _and(words: Iterable[str]) -> str:
    *first, last = [*words] or [""]
    return f"{', '.join(first)} and {last}" if first else last
