"""The rows of a method card's versions: writing the next one, reading the newest."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from app.domain.card_months import months_text
from app.domain.method_cards import CardValues
from app.services.corrections import plain_value
from app.services.history import JsonValue
from app.store.models.method_cards import MethodCard, MethodCardVersion


@dataclass(frozen=True, kw_only=True)
class Saying:
    """What a version says, where each group of it comes from, and the id of who wrote it."""

    values: CardValues
    standings: Mapping[str, str]
    by_id: int | None = None


def add_version(session: Session, *, card: MethodCard, now: datetime, saying: Saying) -> None:
    """Write the version whose number the card holds as its current one."""
    row = MethodCardVersion(
        method_card_id=card.id,
        number=card.current,
        made_at=now,
        made_by_id=saying.by_id,
        standings=dict(saying.standings),
        **_columns(saying.values),
    )
    session.add(row)
    session.flush()


def newest_version(session: Session, *, card: MethodCard) -> MethodCardVersion:
    """Return the version that holds now."""
    query = select(MethodCardVersion).where(
        MethodCardVersion.method_card_id == card.id, MethodCardVersion.number == card.current
    )
    return session.scalars(query).one()


def history_values(values: CardValues) -> dict[str, JsonValue]:
    """Return the values as history holds them."""
    return {name: plain_value(value) for name, value in _columns(values).items()} | {
        "steps": "; ".join(_said(step.step, step.reason) for step in values.steps),
        "troubles": "; ".join(_said(one.what, one.signs, one.do) for one in values.troubles),
    }


def _said(*texts: str) -> str:
    return " / ".join(text for text in texts if text)


def _columns(values: CardValues) -> dict[str, Any]:
    return dict(vars(values)) | {
        "months": months_text(values.months),
        "cut": values.cut.value if values.cut else "",
        "section": values.section.value if values.section else "",
        "steps": [[step.step, step.reason] for step in values.steps],
        "troubles": [[one.what, one.signs, one.do] for one in values.troubles],
    }
