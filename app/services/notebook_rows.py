"""From the words of a notebook sheet to rows of the log's tables, with ids in place of names."""

from dataclasses import dataclass
from datetime import datetime
from functools import lru_cache
from typing import Any

from app.domain.batches import SourceKind
from app.domain.hormones import Hormone
from app.domain.notebook import BatchWords
from app.domain.notebook_comparison import ComparedBatch, ComparedCheck
from app.domain.nursery import Hemisphere
from app.domain.outcomes import CheckCounts, CheckKind
from app.domain.people import name_key
from app.services.batch_facts import BatchBasics
from app.store.queries.notebook_names import NameIds

# The same few names come on thousands of lines.
_folded = lru_cache(maxsize=65_536)(name_key)


@dataclass(frozen=True, kw_only=True)
class Recorder:
    """Who writes a sheet down and when; `person_id` is None where nobody is named."""

    person_id: int | None
    now: datetime


def batch_values(words: BatchWords, *, ids: NameIds) -> dict[str, Any]:
    """Return the columns of `batches` that a sheet says something about."""
    plant = words.plant.plain if words.plant else ""
    mix = ids.mixes.get(_folded(words.mix)) if words.mix else None
    return {
        "plant_name_id": ids.plants[plant].id,
        "taken_on": words.taken_on,
        "stuck_on": words.stuck_on,
        "stuck": words.stuck,
        "cutting_type": words.cutting_type.value if words.cutting_type else "",
        "cut": words.cut.value if words.cut else "",
        "hormone_id": hormone_id(words.hormone, ids=ids),
        "mix_version_id": mix.version_id if mix else None,
        "container_id": ids.containers[_folded(words.container)].id if words.container else None,
        "per_place": words.per_plug,
        "cover": words.cover,
        "bottom_heat_c": words.bottom_heat_c,
        "bench_id": bench_id(words, ids=ids),
        "stuck_by_id": person_id(words.person, ids=ids),
        "notes": words.note,
    }


def hormone_id(hormone: Hormone | None, *, ids: NameIds) -> int | None:
    """Return the row of a hormone, None where none is said."""
    return ids.hormones[hormone] if hormone else None


def bench_id(words: BatchWords, *, ids: NameIds) -> int | None:
    """Return the row of the bench, None where none is said."""
    return ids.benches[_folded(words.bench)] if words.bench else None


def person_id(name: str, *, ids: NameIds) -> int | None:
    """Return the row of a person, None where nobody is named."""
    return ids.people[_folded(name)].id if name else None


def basics_of(
    compared: ComparedBatch, *, batch_id: int, ids: NameIds, hemisphere: Hemisphere
) -> BatchBasics:
    """Return what the facts of the batch rest on, as it would be stored."""
    words = compared.words
    plant = ids.plants[words.plant.plain if words.plant else ""]
    mix = ids.mixes.get(_folded(words.mix)) if words.mix else None
    container = ids.containers.get(_folded(words.container)) if words.container else None
    return BatchBasics(
        batch_id=batch_id,
        genus_id=plant.genus_id,
        plant_name_id=plant.id,
        stuck_on=words.stuck_on or compared.batch.stuck_on,
        stuck=words.stuck or compared.batch.stuck,
        species=plant.species,
        cutting_type=words.cutting_type.value if words.cutting_type else "",
        hormone_id=hormone_id(words.hormone, ids=ids),
        mix_id=mix.id if mix else None,
        container_kind=container.kind if container else "",
        hemisphere=hemisphere,
    )


def source_rows(batch_id: int, *, words: BatchWords, ids: NameIds) -> list[dict[str, Any]]:
    """Return the rows of where the cuttings came from, one for each stock plant."""
    plants = dict.fromkeys(ids.stock_plants[_folded(code)] for code in words.stock_plant)
    return [
        {
            "batch_id": batch_id,
            "position": position,
            "kind": SourceKind.STOCK_PLANT.value,
            "stock_plant_id": plant_id,
        }
        for position, plant_id in enumerate(plants, start=1)
    ]


def check_values(counts: CheckCounts, *, ended: int) -> dict[str, Any]:
    """Return the columns of `checks` with these counts; `ended` went with its ending."""
    return {
        "checked_on": counts.checked_on,
        "running": counts.running,
        "kind": counts.kind.value,
        "rooted": counts.rooted if counts.kind is CheckKind.COUNTED else 0,
        "callused": counts.callused,
        "lost": counts.lost_in_all,
        "ending": counts.ending.value,
        "ended": ended,
        "withdrawn": int(counts.withdrawn),
    }


def version_values(
    compared: ComparedCheck, *, check_id: int, ended: int, ids: NameIds, recorder: Recorder
) -> dict[str, Any]:
    """Return the first version of a new check."""
    counts = compared.counts
    is_sample = counts.kind is CheckKind.SAMPLE
    values = check_values(counts, ended=ended)
    del values["running"]
    return values | {
        "check_id": check_id,
        "number": 1,
        "recorded_at": recorder.now,
        "recorded_by_id": recorder.person_id,
        "checked_by_id": person_id(compared.check.checked_by, ids=ids),
        "unrooted_counted": compared.check.unrooted_counted,
        "sample_of": counts.looked if is_sample else None,
        "sample_rooted": counts.rooted if is_sample else None,
        "note": compared.check.note,
    }


def loss_rows(version_id: int, *, counts: CheckCounts, ids: NameIds) -> list[dict[str, Any]]:
    """Return the losses of one version of a check by cause."""
    numbers: dict[int, int] = {}
    for loss in counts.lost:
        cause_id = ids.causes[_folded(loss.cause)]
        numbers[cause_id] = numbers.get(cause_id, 0) + loss.number
    return [
        {"check_version_id": version_id, "lost_cause_id": cause_id, "number": number}
        for cause_id, number in numbers.items()
        if number
    ]


def ended_by(compared: ComparedBatch, *, counts: CheckCounts) -> int:
    """Return how many went with this check's ending."""
    return compared.standing.ended if counts.ending else 0
