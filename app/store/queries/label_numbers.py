"""Reading numbers printed on labels ahead, and which batch took which."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Final

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from app.domain.codes import label_number_code, parse_label_number
from app.domain.labels import LabelText
from app.store.models.batches import Batch
from app.store.models.labels import BatchTag, LabelRun
from app.store.models.people import Person

_MOST_RUNS: Final = 100


@dataclass(frozen=True, kw_only=True)
class KnownRun:
    """Numbers reserved together; `taken` of them are on batches that are not void."""

    first: str
    last: str
    number: int
    taken: int
    made_at: datetime
    made_by: str


@dataclass(frozen=True, kw_only=True)
class KnownNumber:
    """A reserved number as a label says it, and the code of the batch it is on, "" if it is free.

    A void batch holds no label.
    """

    number: int
    code: str
    batch: str

    @property
    def is_free(self) -> bool:
        """Whether a batch can begin with it."""
        return not self.batch


def find_label_number(session: Session, *, text: str) -> KnownNumber | None:
    """Return the number typed or scanned; None if it is none, or was never reserved."""
    number = parse_label_number(text)
    if number is None or not is_reserved(session, number=number):
        return None
    batch = session.scalar(
        select(Batch.code)
        .join(BatchTag, BatchTag.batch_id == Batch.id)
        .where(BatchTag.number == number, Batch.voided_at.is_(None))
    )
    return KnownNumber(number=number, code=label_number_code(number), batch=batch or "")


def is_reserved(session: Session, *, number: int) -> bool:
    """Return whether labels were reserved with this number among them."""
    query = select(LabelRun.id).where(LabelRun.first <= number, LabelRun.last >= number)
    return session.scalar(query.limit(1)) is not None


def last_reserved(session: Session) -> int:
    """Return the highest number reserved so far, 0 for none."""
    return session.scalar(select(func.max(LabelRun.last))) or 0


def list_numbers_of_batch(session: Session, *, batch_id: int) -> tuple[str, ...]:
    """Return the labels printed ahead that are on a batch, as they say it."""
    query = select(BatchTag.number).where(BatchTag.batch_id == batch_id).order_by(BatchTag.number)
    return tuple(label_number_code(number) for number in session.scalars(query))


def list_runs(session: Session) -> tuple[KnownRun, ...]:
    """Return what was reserved, newest first."""
    taken = (
        select(func.count())
        .select_from(BatchTag)
        .join(Batch, Batch.id == BatchTag.batch_id)
        .where(
            BatchTag.number >= LabelRun.first,
            BatchTag.number <= LabelRun.last,
            Batch.voided_at.is_(None),
        )
        .correlate(LabelRun)
        .scalar_subquery()
    )
    query = (
        select(LabelRun.first, LabelRun.last, LabelRun.made_at, Person.name, taken.label("taken"))
        .outerjoin(Person, Person.id == LabelRun.recorded_by_id)
        .order_by(LabelRun.first.desc())
        .limit(_MOST_RUNS)
    )
    return tuple(
        KnownRun(
            first=label_number_code(row.first),
            last=label_number_code(row.last),
            number=row.last - row.first + 1,
            taken=row.taken,
            made_at=row.made_at,
            made_by=row.name or "",
        )
        for row in session.execute(query)
    )


def read_number_labels(session: Session, *, codes: Sequence[str]) -> Mapping[str, LabelText]:
    """Return what labels printed ahead say, by code: the number, and room to write by hand."""
    wanted = {number: code for code in codes if (number := parse_label_number(code))}
    if not wanted:
        return {}
    query = select(LabelRun.first, LabelRun.last).where(
        LabelRun.first <= max(wanted), LabelRun.last >= min(wanted)
    )
    runs = session.execute(query).all()
    return {
        code: LabelText(code=code, name=())
        for number, code in wanted.items()
        if any(run.first <= number <= run.last for run in runs)
    }
