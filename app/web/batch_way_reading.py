"""From the form of a batch to what is said of its way alone: pieces, grafts, rootstocks."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import datetime
from enum import StrEnum
from typing import Any, Protocol

from sqlalchemy.orm import Session
from wtforms import Field

from app.domain.measures import parse_measure
from app.domain.people import Actor
from app.domain.plant_names import PlantName
from app.domain.problems import NotAccepted, Problem
from app.domain.way_details import (
    TALLEST_UNION_CM,
    GraftMethod,
    LeafPart,
    ScaleKind,
    WayDetails,
    WayUp,
)
from app.services.plant_names import keep_plant_name, resolve_plant
from app.web.forms.batches import BatchForm


class Gathering(Protocol):
    """Reads one thing after the other and keeps every refusal."""

    def read(self, reading: Callable[[], Any]) -> Any:
        """Return what was read, None where it was refused."""

    def one_of(self, field: Field, known: type[StrEnum]) -> Any:
        """Return the member chosen, None for a blank or an unknown one."""


@dataclass(frozen=True, kw_only=True)
class ReadDetails:
    """The details typed, and the name of the rootstock, which may be new."""

    details: WayDetails
    rootstock: PlantName | None

    def kept(self, session: Session, *, actor: Actor, now: datetime) -> WayDetails:
        """Return the details with the rootstock's name, kept if it is new."""
        if self.rootstock is None:
            return self.details
        rootstock_id = keep_plant_name(session, actor=actor, now=now, name=self.rootstock)
        return replace(self.details, rootstock_id=rootstock_id)


def read_details(session: Session, form: BatchForm, *, gathered: Gathering) -> ReadDetails:
    """Return the details typed; what cannot be read is gathered."""
    rootstock = gathered.read(lambda: _rootstock(session, form))
    return ReadDetails(details=_details(form, gathered=gathered), rootstock=rootstock)


def _details(form: BatchForm, *, gathered: Gathering) -> WayDetails:
    return WayDetails(
        way_up=gathered.one_of(form.way_up, WayUp),
        leaf_part=gathered.one_of(form.leaf_part, LeafPart),
        scale_kind=gathered.one_of(form.scale_kind, ScaleKind),
        graft_method=gathered.one_of(form.graft_method, GraftMethod),
        rootstock_source=" ".join((form.rootstock_source.data or "").split()),
        union_cm=gathered.read(
            lambda: parse_measure(
                form.union_cm.data or "", field="union_cm", low=0, high=TALLEST_UNION_CM, unit="cm"
            )
        ),
    )


def _rootstock(session: Session, form: BatchForm) -> PlantName | None:
    typed = (form.rootstock.data or "").strip()
    if not typed:
        return None
    try:
        found = resolve_plant(session, typed=typed)
    except NotAccepted as refusal:
        problems = (Problem(field="rootstock", sentence=each.sentence) for each in refusal.problems)
        raise NotAccepted(tuple(problems)) from refusal
    if found.plant_name_id is None and not form.new_rootstock.data:
        form.asks_new_rootstock = True
        sentence = f"{found.name.plain} is not in the log yet. If it is new, tick the box below it."
        raise NotAccepted.at("rootstock", sentence)
    return found.name
