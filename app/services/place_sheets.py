"""The sheets of benches and of containers; a name finds one again."""

from dataclasses import replace
from typing import Final

from app.domain.benches import BenchEntry
from app.domain.containers import ContainerEntry, ContainerKind
from app.domain.record_sheets import RecordColumn, Values
from app.domain.sheet_cells import choice_reader, read_decimal, read_whole, read_yes
from app.services.benches import add_bench, correct_bench
from app.services.containers import add_container, correct_container
from app.services.record_sheets import Kept, SheetKind, Work
from app.store.models.benches import Bench
from app.store.models.containers import Container
from app.store.queries.record_exports import BENCHES, CONTAINERS


def _add_bench(work: Work, values: Values) -> None:
    entry = BenchEntry(
        name=values["bench"], capacity_trays=values["capacity_trays"], notes=values["note"]
    )
    add_bench(work.session, actor=work.actor, now=work.now, entry=entry)


def _correct_bench(work: Work, kept: Kept, values: Values) -> None:
    row = work.session.get_one(Bench, kept.id)
    entry = BenchEntry(
        name=row.name,
        capacity_trays=values.get("capacity_trays", row.capacity_trays),
        notes=values.get("note", row.notes),
    )
    correct_bench(
        work.session,
        actor=work.actor,
        now=work.now,
        bench_id=row.id,
        version=row.version,
        entry=entry,
    )


def _add_container(work: Work, values: Values) -> None:
    entry = ContainerEntry(
        name=values["container"],
        kind=values["kind"],
        plugs=values["plugs"],
        volume_ml=values["volume_ml"],
    )
    add_container(work.session, actor=work.actor, now=work.now, entry=entry)


def _correct_container(work: Work, kept: Kept, values: Values) -> None:
    row = work.session.get_one(Container, kept.id)
    stored = ContainerEntry(
        name=row.name, kind=ContainerKind(row.kind), plugs=row.plugs, volume_ml=row.volume_ml
    )
    retired = values.get("retired", row.retired_at is not None)
    correct_container(
        work.session,
        actor=work.actor,
        now=work.now,
        container_id=row.id,
        version=row.version,
        entry=replace(
            stored, **{field: value for field, value in values.items() if field != "retired"}
        ),
        retired=retired,
    )


BENCH_SHEET: Final = SheetKind(
    name="benches",
    table=BENCHES,
    key="bench",
    columns=(
        RecordColumn(name="bench", must=True),
        RecordColumn(
            name="walking_order",
            read=read_whole,
            blank=None,
            fixed="Put the benches in walking order on their page.",
        ),
        RecordColumn(name="capacity_trays", read=read_whole, blank=None),
        RecordColumn(
            name="closed",
            read=read_yes,
            blank=False,
            fixed="Close or reopen a bench on its own page, which looks what stands there.",
        ),
        RecordColumn(name="note"),
    ),
    columns_of={"name": "bench", "notes": "note"},
    add=_add_bench,
    correct=_correct_bench,
)
CONTAINER_SHEET: Final = SheetKind(
    name="containers",
    table=CONTAINERS,
    key="container",
    needed=("kind",),
    columns=(
        RecordColumn(name="container", must=True),
        RecordColumn(name="kind", read=choice_reader(ContainerKind), must=True),
        RecordColumn(name="plugs", read=read_whole, blank=None),
        RecordColumn(name="volume_ml", read=read_decimal, blank=None),
        RecordColumn(name="retired", read=read_yes, blank=False),
    ),
    columns_of={"name": "container"},
    add=_add_container,
    correct=_correct_container,
)
