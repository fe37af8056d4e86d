"""Reading photographs: those of a batch, a check or a stock plant, one, and all of them."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any, Final

from sqlalchemy import ColumnElement, Row, Select, case, func, or_, select
from sqlalchemy.orm import Session, aliased

from app.domain.photographs import PhotographFiles, PictureFile, alternative_text
from app.domain.problems import NotFound
from app.store.models.batches import Batch
from app.store.models.checks import Check
from app.store.models.people import Person
from app.store.models.photographs import Photograph
from app.store.models.plant_names import PlantNameRow
from app.store.models.stock_plants import StockPlant

PAGE: Final = 60


@dataclass(frozen=True, kw_only=True)
class KeptPhotograph:
    """A photograph with what it shows; of a check, or of a stock plant.

    `check_id`, `batch_code`, `checked_on` and `check_withdrawn` belong to the first,
    `stock_plant_code` to the second; the others are None, "" or False.
    """

    id: int
    version: int
    files: PhotographFiles
    plant: str
    check_id: int | None
    batch_code: str
    checked_on: date | None
    check_withdrawn: bool
    stock_plant_code: str
    taken_on: date
    taken_by: str
    caption: str
    recorded_by: str
    recorded_by_id: int | None
    made_at: datetime
    withdrawn_at: datetime | None
    withdrawn_by: str
    withdraw_reason: str

    @property
    def subject(self) -> str:
        """How the history names it."""
        return photograph_subject(self.id)

    def shows(self, today: date) -> str:
        """Return what it shows, in words, for whoever cannot see it."""
        return alternative_text(
            plant=self.plant,
            batch_code=self.batch_code,
            checked_on=self.checked_on,
            stock_plant_code=self.stock_plant_code,
            taken_on=self.taken_on,
            today=today,
        )


def photograph_subject(photograph_id: int) -> str:
    """Return how the history names a photograph: by its running number."""
    return f"photograph {photograph_id}"


def get_photograph(session: Session, *, photograph_id: int) -> KeptPhotograph:
    """Return one photograph, withdrawn or not.

    Raises:
        NotFound: there is none of that number.
    """
    found = _kept(session, _all().where(Photograph.id == photograph_id))
    if not found:
        raise NotFound("There is no such photograph.")
    return found[0]


def list_photographs_of_batch(session: Session, *, batch_id: int) -> tuple[KeptPhotograph, ...]:
    """Return what was photographed at a batch's checks, the first day first.

    Left out is what is withdrawn, and what belongs to a withdrawn check.
    """
    query = _standing().where(Check.batch_id == batch_id, Check.withdrawn == 0)
    return _kept(session, query.order_by(Check.checked_on, Photograph.id))


def list_photographs_of_check(session: Session, *, check_id: int) -> tuple[KeptPhotograph, ...]:
    """Return the photographs of one check as they came, without those withdrawn."""
    query = _standing().where(Photograph.check_id == check_id)
    return _kept(session, query.order_by(Photograph.id))


def list_photographs_of_stock_plant(
    session: Session, *, stock_plant_id: int
) -> tuple[KeptPhotograph, ...]:
    """Return the photographs of one stock plant, the newest day first, without those withdrawn."""
    query = _standing().where(Photograph.stock_plant_id == stock_plant_id)
    return _kept(session, query.order_by(Photograph.taken_on.desc(), Photograph.id.desc()))


def list_photographs(
    session: Session, *, before: int | None = None, limit: int | None = PAGE
) -> tuple[KeptPhotograph, ...]:
    """Return all photographs, the last added first, those withdrawn too.

    `before` is the number to go on below; without a `limit` every one is returned.
    """
    query = _all().order_by(Photograph.id.desc())
    if before is not None:
        query = query.where(Photograph.id < before)
    return _kept(session, query.limit(limit))


def list_photograph_files(session: Session) -> Mapping[str, int]:
    """Return every file that a photograph names, large and small, with its size in bytes."""
    large = select(Photograph.sha256, Photograph.size)
    small = select(Photograph.small_sha256, Photograph.small_size)
    return {row[0]: row[1] for row in session.execute(large.union(small).order_by("sha256"))}


def list_photographs_by_file(session: Session) -> Mapping[str, tuple[int, ...]]:
    """Return the numbers of the photographs that name each file."""
    found: dict[str, tuple[int, ...]] = {}
    query = select(Photograph.id, Photograph.sha256, Photograph.small_sha256)
    for photograph_id, large, small in session.execute(query.order_by(Photograph.id)):
        for name in (large, small):
            found[name] = (*found.get(name, ()), photograph_id)
    return found


def is_photograph_file(session: Session, *, sha256: str) -> bool:
    """Return whether any photograph names a file of this hash."""
    named = or_(Photograph.sha256 == sha256, Photograph.small_sha256 == sha256)
    return session.scalar(select(Photograph.id).where(named).limit(1)) is not None


def count_photographs(session: Session) -> int:
    """Return how many photographs there are, without those withdrawn."""
    query = select(func.count()).select_from(Photograph).where(Photograph.withdrawn_at.is_(None))
    return session.scalar(query) or 0


_OF_CHECK: Final = aliased(PlantNameRow)
_OF_STOCK_PLANT: Final = aliased(PlantNameRow)
_TAKEN_BY: Final = aliased(Person)
_RECORDED_BY: Final = aliased(Person)
_WITHDRAWN_BY: Final = aliased(Person)
_PLANT: Final[ColumnElement[Any]] = case(
    (Photograph.check_id.is_not(None), _OF_CHECK.plain), else_=_OF_STOCK_PLANT.plain
)


def _all() -> Select[*tuple[Any, ...]]:
    return (
        select(
            *Photograph.__table__.c,
            _PLANT.label("plant"),
            Batch.code.label("batch_code"),
            Check.checked_on,
            Check.withdrawn.label("check_withdrawn"),
            StockPlant.code.label("stock_plant_code"),
            _TAKEN_BY.name.label("taken_by"),
            _RECORDED_BY.name.label("recorded_by"),
            _WITHDRAWN_BY.name.label("withdrawn_by"),
        )
        .select_from(Photograph)
        .outerjoin(Check, Check.id == Photograph.check_id)
        .outerjoin(Batch, Batch.id == Check.batch_id)
        .outerjoin(_OF_CHECK, _OF_CHECK.id == Batch.plant_name_id)
        .outerjoin(StockPlant, StockPlant.id == Photograph.stock_plant_id)
        .outerjoin(_OF_STOCK_PLANT, _OF_STOCK_PLANT.id == StockPlant.plant_name_id)
        .outerjoin(_TAKEN_BY, _TAKEN_BY.id == Photograph.taken_by_id)
        .outerjoin(_RECORDED_BY, _RECORDED_BY.id == Photograph.recorded_by_id)
        .outerjoin(_WITHDRAWN_BY, _WITHDRAWN_BY.id == Photograph.withdrawn_by_id)
    )


def _standing() -> Select[*tuple[Any, ...]]:
    return _all().where(Photograph.withdrawn_at.is_(None))


def _kept(session: Session, query: Select[*tuple[Any, ...]]) -> tuple[KeptPhotograph, ...]:
    rows: Iterable[Row[*tuple[Any, ...]]] = session.execute(query)
    return tuple(
        KeptPhotograph(
            files=_files(row),
            batch_code=row.batch_code or "",
            check_withdrawn=bool(row.check_withdrawn),
            stock_plant_code=row.stock_plant_code or "",
            taken_by=row.taken_by or "",
            recorded_by=row.recorded_by or "",
            withdrawn_by=row.withdrawn_by or "",
            **{name: getattr(row, name) for name in _PLAIN_COLUMNS},
        )
        for row in rows
    )


_PLAIN_COLUMNS: Final = (
    "id",
    "version",
    "plant",
    "check_id",
    "checked_on",
    "taken_on",
    "caption",
    "recorded_by_id",
    "made_at",
    "withdrawn_at",
    "withdraw_reason",
)


def _files(row: Row[*tuple[Any, ...]]) -> PhotographFiles:
    large = PictureFile(sha256=row.sha256, size=row.size, width=row.width, height=row.height)
    small = PictureFile(
        sha256=row.small_sha256,
        size=row.small_size,
        width=row.small_width,
        height=row.small_height,
    )
    return PhotographFiles(large=large, small=small)
