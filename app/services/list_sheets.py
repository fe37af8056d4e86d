"""The sheets of causes of loss and of hormones; a name finds one again."""

from typing import Final

from app.domain.problems import NotAccepted
from app.domain.record_sheets import RecordColumn, Values
from app.domain.sheet_cells import read_whole, read_yes
from app.services.hormones import add_hormone
from app.services.lost_causes import add_lost_cause, correct_lost_cause
from app.services.record_sheets import Kept, SheetKind, Work
from app.store.models.lost_causes import LostCause
from app.store.queries.record_exports import HORMONES, LOST_CAUSES

_ONE_LINE: Final = "A new hormone is written in one line under hormone, such as IBA talc 3000 ppm."


def _add_cause(work: Work, values: Values) -> None:
    if values["retired"]:
        raise NotAccepted.at("retired", "A new cause is in use. Clear this cell.")
    add_lost_cause(
        work.session,
        actor=work.actor,
        now=work.now,
        name=values["cause"],
        spreads=values["spreads"],
    )


def _correct_cause(work: Work, kept: Kept, values: Values) -> None:
    row = work.session.get_one(LostCause, kept.id)
    correct_lost_cause(
        work.session,
        actor=work.actor,
        now=work.now,
        cause_id=row.id,
        version=row.version,
        name=row.name,
        spreads=values.get("spreads", row.spreads),
        retired=values.get("retired", row.retired_at is not None),
    )


def _add_hormone(work: Work, values: Values) -> None:
    hormone = add_hormone(work.session, actor=work.actor, now=work.now, text=values["hormone"])
    read = {"substance": hormone.substance, "form": hormone.form, "ppm": hormone.ppm}
    for column, value in read.items():
        if values[column] not in (None, "", value):
            raise NotAccepted.at(column, _ONE_LINE)


CAUSE_SHEET: Final = SheetKind(
    name="lost-causes",
    table=LOST_CAUSES,
    key="cause",
    columns=(
        RecordColumn(name="cause", must=True),
        RecordColumn(name="spreads", read=read_yes, blank=False),
        RecordColumn(name="retired", read=read_yes, blank=False),
    ),
    columns_of={"name": "cause"},
    add=_add_cause,
    correct=_correct_cause,
)
HORMONE_SHEET: Final = SheetKind(
    name="hormones",
    table=HORMONES,
    key="hormone",
    columns=(
        RecordColumn(name="hormone", must=True),
        RecordColumn(name="substance"),
        RecordColumn(name="form"),
        RecordColumn(name="ppm", read=read_whole, blank=None),
    ),
    add=_add_hormone,
)
