"""Reading the mix lots that a batch can name: neither empty nor void, the newest first."""

from dataclasses import dataclass
from datetime import date

from sqlalchemy import select
from sqlalchemy.orm import Session

from app.domain.days import day_long
from app.store.models.mixes import Mix, MixLot, MixLotMeasures, MixVersion

MOST: int = 40


@dataclass(frozen=True, kw_only=True)
class OpenLot:
    """A lot that is in use."""

    id: int
    code: str
    mix: str
    made_on: date

    @property
    def words(self) -> str:
        """What it is, such as "Perlite and bark, made up Tue 24 November 2026"."""
        return f"{self.mix}, made up {day_long(self.made_on)}"


def list_open_lots(session: Session) -> tuple[OpenLot, ...]:
    """Return the lots in use, the newest first."""
    query = (
        select(MixLot.id, MixLot.code, Mix.name.label("mix"), MixLot.made_on)
        .join(MixVersion, MixVersion.id == MixLot.mix_version_id)
        .join(Mix, Mix.id == MixVersion.mix_id)
        .outerjoin(MixLotMeasures, MixLotMeasures.mix_lot_id == MixLot.id)
        .where(MixLotMeasures.empty_on.is_(None), MixLotMeasures.voided_at.is_(None))
        .order_by(MixLot.number.desc())
        .limit(MOST)
    )
    return tuple(OpenLot(**row._mapping) for row in session.execute(query))
