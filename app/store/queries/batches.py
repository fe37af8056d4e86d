"""Finding a batch, and reading one as its whole story."""

from dataclasses import dataclass, replace
from datetime import date, datetime
from typing import Any, Final

from sqlalchemy import Row, Select, select
from sqlalchemy.orm import Session, aliased

from app.domain.batches import BatchEntry
from app.domain.codes import parse_batch_code
from app.domain.containers import ContainerKind
from app.domain.outcomes import Ending, Standing
from app.domain.problems import NotFound
from app.store.models.batches import Batch, BatchFacts
from app.store.models.containers import Container
from app.store.models.genera import Genus
from app.store.models.method_cards import MethodCard, MethodCardVersion
from app.store.models.mixes import Mix, MixLot, MixVersion
from app.store.models.people import Person
from app.store.models.plant_names import PlantNameRow
from app.store.queries.batch_entries import get_batch_entry
from app.store.queries.batch_kin import BatchSourceStory, list_batch_sources
from app.store.queries.batch_places import BatchStay, list_batch_stays
from app.store.queries.restuck import restuck_by_batch

_RECENT: Final = 2_000


@dataclass(frozen=True, kw_only=True)
class BatchVoid:
    """Who took a batch out of the log, when and why."""

    by: str
    at: datetime
    reason: str


@dataclass(frozen=True, kw_only=True)
class BatchStory:
    """A batch as it is told: what was entered, in words, and what became of it.

    `entry` holds what was entered, the other texts name what it refers to, "" where nothing is
    recorded. `caution` is that of the genus. `due_on` and the two next days are None once
    nothing is unrooted.
    """

    id: int
    code: str
    version: int
    entry: BatchEntry
    plant: str
    genus_id: int
    genus: str
    species: str
    caution: str
    caution_route: str
    caution_basis: str
    caution_applies_to: str
    method_card: str
    method_card_id: int | None
    method_card_number: int | None
    mix: str
    mix_lot: str
    container: str
    container_kind: ContainerKind | None
    gathered_by: str
    made_by: str
    stuck_by: str
    restuck_from: str
    recorded_by: str
    recorded_by_id: int | None
    made_at: datetime
    standing: Standing
    ending_cause: str
    next_look_on: date | None
    next_count_on: date | None
    due_on: date | None
    late_on: date | None
    sources: tuple[BatchSourceStory, ...]
    stays: tuple[BatchStay, ...]
    void: BatchVoid | None

    @property
    def benches(self) -> tuple[str, ...]:
        """The benches where the batch, or some of it, stands now."""
        return tuple(stay.bench for stay in self.stays if stay.to_on is None)

    @property
    def left_to_restick(self) -> int:
        """How many can be stuck again as another batch."""
        return self.standing.left_to_restick

    @property
    def is_open(self) -> bool:
        """Whether something is still unrooted and the batch is not void."""
        return self.void is None and self.standing.unrooted > 0

    def is_late(self, today: date) -> bool:
        """Return whether its check is late."""
        return self.late_on is not None and self.late_on <= today


def find_batch_id(session: Session, *, code: str) -> int | None:
    """Return the id of the batch whose code was typed, forgivingly; None if there is none."""
    parsed = parse_batch_code(code)
    if parsed is None:
        return None
    return session.scalar(select(Batch.id).where(Batch.code == str(parsed)))


def get_batch(session: Session, *, code: str) -> BatchStory:
    """Return the story of the batch of this code.

    Raises:
        NotFound: there is none.
    """
    batch_id = find_batch_id(session, code=code)
    if batch_id is None:
        raise NotFound(f"There is no batch {code}. Look for it by its plant name in the box above.")
    row = session.execute(_stories().where(Batch.id == batch_id)).one()
    return BatchStory(
        **{name: row._mapping[name] or "" for name in _TEXTS},
        id=row.id,
        code=row.code,
        version=row.version,
        entry=get_batch_entry(session, batch_id=batch_id),
        genus_id=row.genus_id,
        method_card=_card(row),
        method_card_id=row.card_id,
        method_card_number=row.card_number,
        mix=f"{row.mix_name}, version {row.mix_number}" if row.mix_name else "",
        container_kind=ContainerKind(row.container_kind) if row.container_kind else None,
        recorded_by_id=row.recorded_by_id,
        made_at=row.made_at,
        standing=replace(_standing(row), restuck=_restuck(session, row.id)),
        next_look_on=row.next_look_on,
        next_count_on=row.next_count_on,
        due_on=row.due_on,
        late_on=row.late_on,
        sources=list_batch_sources(session, batch_id=batch_id),
        stays=list_batch_stays(session, batch_id=batch_id),
        void=_void(row),
    )


def find_latest_batch(session: Session, *, recorded_by_id: int) -> str | None:
    """Return the code of the batch this person entered last; None if it was none of late.

    Only the newest _RECENT batches are looked at, so that it costs the same for everybody.
    """
    recent = select(Batch).order_by(Batch.id.desc()).limit(_RECENT).subquery("recent").c
    query = (
        select(recent.code)
        .where(recent.recorded_by_id == recorded_by_id, recent.voided_at.is_(None))
        .order_by(recent.id.desc())
        .limit(1)
    )
    return session.scalar(query)


_TEXTS: Final = (
    "plant", "genus", "species", "caution", "caution_route", "caution_basis", "caution_applies_to",
    "mix_lot", "container", "gathered_by", "made_by", "stuck_by", "recorded_by", "restuck_from",
    "ending_cause",
)  # fmt: skip


def _stories() -> Select[*tuple[Any, ...]]:
    gathered, made, stuck, recorded, voided = (aliased(Person) for _ in range(5))
    parent, card_genus, card_name = aliased(Batch), aliased(Genus), aliased(PlantNameRow)
    facts = [column for column in BatchFacts.__table__.c if column.name in _FACTS]
    return (
        select(
            Batch.id, Batch.code, Batch.version, Batch.recorded_by_id, Batch.made_at,
            Batch.ending_kind, Batch.ending_cause, Batch.ended_on, Batch.voided_at,
            Batch.void_reason, *facts,
            PlantNameRow.plain.label("plant"), PlantNameRow.species, PlantNameRow.genus_id,
            Genus.name.label("genus"), Genus.caution, Genus.caution_route, Genus.caution_basis,
            Genus.caution_applies_to, Mix.name.label("mix_name"),
            MixVersion.number.label("mix_number"), MixLot.code.label("mix_lot"),
            Container.name.label("container"), Container.kind.label("container_kind"),
            gathered.name.label("gathered_by"), made.name.label("made_by"),
            stuck.name.label("stuck_by"), recorded.name.label("recorded_by"),
            voided.name.label("voided_by"), parent.code.label("restuck_from"),
            card_genus.name.label("card_genus"), MethodCard.species.label("card_species"),
            MethodCard.cutting_type.label("card_type"), MethodCard.id.label("card_id"),
            card_name.plain.label("card_plant"), MethodCardVersion.number.label("card_number"),
        )
        .join_from(Batch, BatchFacts, BatchFacts.batch_id == Batch.id)
        .join(PlantNameRow, PlantNameRow.id == Batch.plant_name_id)
        .join(Genus, Genus.id == PlantNameRow.genus_id)
        .outerjoin(MixVersion, MixVersion.id == Batch.mix_version_id)
        .outerjoin(Mix, Mix.id == MixVersion.mix_id)
        .outerjoin(MixLot, MixLot.id == Batch.mix_lot_id)
        .outerjoin(Container, Container.id == Batch.container_id)
        .outerjoin(gathered, gathered.id == Batch.gathered_by_id)
        .outerjoin(made, made.id == Batch.made_by_id)
        .outerjoin(stuck, stuck.id == Batch.stuck_by_id)
        .outerjoin(recorded, recorded.id == Batch.recorded_by_id)
        .outerjoin(voided, voided.id == Batch.voided_by_id)
        .outerjoin(parent, parent.id == Batch.restuck_from_id)
        .outerjoin(MethodCardVersion, MethodCardVersion.id == Batch.method_card_version_id)
        .outerjoin(MethodCard, MethodCard.id == MethodCardVersion.method_card_id)
        .outerjoin(card_genus, card_genus.id == MethodCard.genus_id)
        .outerjoin(card_name, card_name.id == MethodCard.plant_name_id)
    )  # fmt: skip


_FACTS: Final = frozenset(
    {
        "stuck", "rooted", "lost", "dumped", "cleared_unrooted", "last_looked_on", "counted_on",
        "next_look_on", "next_count_on", "due_on", "late_on",
    }
)  # fmt: skip


def _standing(row: Row[*tuple[Any, ...]]) -> Standing:
    return Standing(
        stuck=row.stuck,
        rooted=row.rooted,
        lost=row.lost,
        dumped=row.dumped,
        cleared_unrooted=row.cleared_unrooted,
        last_looked_on=row.last_looked_on,
        counted_on=row.counted_on,
        ended_on=row.ended_on,
        ending=Ending(row.ending_kind),
    )


def _card(row: Row[*tuple[Any, ...]]) -> str:
    if row.card_genus is None:
        return ""
    plant = row.card_plant or f"{row.card_genus} {row.card_species}".strip()
    return f"{plant}, {row.card_type}, version {row.card_number}"


def _void(row: Row[*tuple[Any, ...]]) -> BatchVoid | None:
    if row.voided_at is None:
        return None
    return BatchVoid(by=row.voided_by or "", at=row.voided_at, reason=row.void_reason)


def _restuck(session: Session, batch_id: int) -> int:
    moved = restuck_by_batch(session, batch_ids=[batch_id]).get(batch_id, ())
    return sum(each.restuck for each in moved)
