"""Batches written straight into the tables, so that figures can be told from known sums."""

from dataclasses import dataclass, field
from datetime import date, timedelta
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from app.domain.hormones import parse_hormone
from app.store.models.batches import Batch, BatchFacts, BatchSource
from app.store.models.benches import Bench
from app.store.models.containers import Container
from app.store.models.genera import Genus
from app.store.models.hormones import HormoneRow
from app.store.models.mixes import Mix, MixVersion
from app.store.models.people import Person
from app.store.models.plant_names import PlantNameRow
from app.store.models.stock_plants import StockPlant
from tests.conftest import NOW
from tests.domain.rate_batches import Counts


@dataclass
class RateRecords:
    """Writes batches, and the records they name where those do not exist yet."""

    session: Session
    written: int = 0
    known: dict[tuple[type, str], Any] = field(default_factory=dict)

    def add_batch(
        self,
        counts: Counts,
        *,
        plant: str = "Hebe 'Invented'",
        stuck_on: date = date(2026, 4, 7),
        mix: str = "",
        sources: tuple[str, ...] = (),
        restuck_from: Batch | None = None,
        voided: bool = False,
        **recorded: Any,
    ) -> Batch:
        """Write one; `recorded` holds taken_on, cutting_type, hormone, person, bench and so on."""
        self.written += 1
        name, mix_row = self._plant(plant), self._mix(mix)
        batch = Batch(
            year=stuck_on.year,
            number=self.written,
            code=f"{stuck_on:%y}-{self.written:04d}",
            plant_name_id=name.id,
            stuck_on=stuck_on,
            stuck=counts.stuck,
            mix_version_id=mix_row and self._version(mix_row).id,
            restuck_from_id=restuck_from and restuck_from.id,
            voided_at=NOW if voided else None,
            void_reason="entered twice" if voided else "",
            made_at=NOW,
            **self._recorded(**recorded),
        )
        self._write(batch)
        self._write(self._facts(batch, counts, name=name, mix=mix_row, voided=voided))
        for position, source in enumerate(sources, start=1):
            self._write(self._source(batch, source, position=position))
        return batch

    def _recorded(
        self,
        *,
        taken_on: date | None = None,
        cutting_type: str = "softwood",
        hormone: str = "",
        person: str = "",
        bench: str = "",
        cover: str = "",
        bottom_heat_c: float | None = None,
        container: str = "",
    ) -> dict[str, Any]:
        hormone_row = self._hormone(hormone)
        return {
            "taken_on": taken_on,
            "cutting_type": cutting_type,
            "hormone_id": hormone_row and hormone_row.id,
            "stuck_by_id": self._id(Person, person),
            "bench_id": self._id(Bench, bench),
            "cover": cover,
            "bottom_heat_c": bottom_heat_c,
            "container_id": self._id(Container, container),
        }

    def _facts(
        self, batch: Batch, counts: Counts, *, name: PlantNameRow, mix: Mix | None, voided: bool
    ) -> BatchFacts:
        age = counts.counted_at
        return BatchFacts(
            batch_id=batch.id,
            genus_id=name.genus_id,
            plant_name_id=name.id,
            cutting_type=batch.cutting_type,
            hormone_id=batch.hormone_id,
            mix_id=mix and mix.id,
            stuck_on=batch.stuck_on,
            year_stuck=batch.stuck_on.year,
            month_stuck=batch.stuck_on.month,
            stuck=counts.stuck,
            rooted=counts.rooted,
            lost=counts.lost,
            dumped=counts.dumped,
            cleared_unrooted=counts.cleared_unrooted,
            unrooted=counts.unrooted,
            open=int(counts.unrooted > 0 and not voided),
            voided=int(voided),
            counted_on=None if age is None else batch.stuck_on + timedelta(days=age),
        )

    def _source(self, batch: Batch, source: str, *, position: int) -> BatchSource:
        plant = self._stock_plant(source, batch=batch) if source.startswith("S-") else None
        return BatchSource(
            batch_id=batch.id,
            position=position,
            kind="stock plant" if plant else source,
            stock_plant_id=plant and plant.id,
        )

    def _write(self, row: Any) -> None:
        self.session.add(row)
        self.session.flush()

    def _named(self, kind: type, name: str, /, **values: Any) -> Any:
        if (kind, name) not in self.known:
            self.known[kind, name] = kind(**values)
            self._write(self.known[kind, name])
        return self.known[kind, name]

    def _plant(self, plain: str) -> PlantNameRow:
        genus = plain.split(maxsplit=1)[0]
        row: Genus = self._named(Genus, genus, name=genus)
        name: PlantNameRow = self._named(PlantNameRow, plain, plain=plain, genus_id=row.id)
        return name

    def _mix(self, name: str) -> Mix | None:
        return self._named(Mix, name, name=name) if name else None

    def _version(self, mix: Mix) -> MixVersion:
        version: MixVersion = self._named(
            MixVersion, mix.name, mix_id=mix.id, number=1, made_at=NOW
        )
        return version

    def _hormone(self, text: str) -> HormoneRow | None:
        hormone = parse_hormone(text)
        if hormone is None:
            return None
        label = hormone.label
        row: HormoneRow | None = self.session.scalar(
            select(HormoneRow).where(HormoneRow.label == label)
        )
        if row is None:
            ppm = -1 if hormone.ppm is None else hormone.ppm
            row = HormoneRow(substance=hormone.substance, form=hormone.form, ppm=ppm, label=label)
            self._write(row)
        return row

    def _stock_plant(self, code: str, *, batch: Batch) -> StockPlant:
        plant: StockPlant = self._named(
            StockPlant,
            code,
            code=code,
            number=int(code.removeprefix("S-")),
            plant_name_id=batch.plant_name_id,
        )
        return plant

    def _id(self, kind: type, name: str) -> int | None:
        if not name:
            return None
        if kind is Person:
            known = self.session.scalar(select(Person.id).where(Person.name == name))
            key = f"key-of-{name}"
            return (
                known or self._named(Person, name, key=key, name=name, name_key=name.casefold()).id
            )
        number: int = self._named(kind, name, name=name).id
        return number
