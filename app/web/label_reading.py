"""What a form of labels asks for: the labels, the sheet, and where to begin on it."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from typing import Final, TypeVar

from flask import request
from sqlalchemy.orm import Session

from app.domain.label_codes import read_codes
from app.domain.label_sheets import (
    LONGEST_MM,
    LabelSheet,
    accepted_sheet,
    own_sheet,
    parse_sheet,
    single_label,
)
from app.domain.labels import MOST_LABELS, Label, labels_of
from app.domain.measures import parse_measure
from app.domain.problems import NotAccepted
from app.network import own_addresses
from app.settings import Settings
from app.store.queries.labels import (
    LabelKind,
    get_label_address,
    list_codes_stuck_on,
    list_label_texts,
)
from app.web.form_reading import Reading
from app.web.forms.labels import OWN, OWN_FIELDS, LabelsForm

T = TypeVar("T")

TODAY: Final = "today"
_HERE: Final = frozenset({"localhost", "127.0.0.1"})
_ONLY_HERE: Final = (
    "This program answers on this PC only at the moment, so a phone cannot open what the codes "
    "lead to. Start it with --lan. The plain code stands on each label and at the end of each "
    "address: typed into the box Find it leads to the same page."
)


@dataclass(frozen=True, kw_only=True)
class LabelBase:
    """The address that codes begin with; a remark where a phone would not get there."""

    address: str
    remark: str = ""


@dataclass(frozen=True, kw_only=True)
class WantedLabels:
    """Labels to print, on which sheet, the first at place `start`."""

    labels: tuple[Label, ...]
    sheet: LabelSheet
    start: int

    @property
    def pages(self) -> int:
        """How many pages they take."""
        return self.sheet.pages(len(self.labels), start=self.start)


def label_base(session: Session, *, settings: Settings) -> LabelBase:
    """Return the address set for labels, else the one of this request or of this PC."""
    if known := get_label_address(session).address:
        return LabelBase(address=known)
    host, _, port = request.host.partition(":")
    if host not in _HERE:
        return LabelBase(address=f"http://{request.host}")
    outside = (*own_addresses(), host)[0]
    address = f"http://{outside}:{port}" if port else f"http://{outside}"
    return LabelBase(address=address, remark="" if settings.lan else _ONLY_HERE)


def fill_codes(form: LabelsForm, session: Session, *, kind: LabelKind, day: date) -> None:
    """Fill in the batches stuck today where the address asks for these."""
    if kind.in_trays and request.args.get("stuck") == TODAY:
        form.codes.data = " ".join(list_codes_stuck_on(session, day=day))


def read_labels(
    form: LabelsForm, session: Session, *, kind: LabelKind, base: LabelBase
) -> WantedLabels | None:
    """Return what the form asks for; None with a sentence beside each field that is wrong."""
    reading = _FormReading(form)
    texts = reading.of(
        lambda: list_label_texts(
            session,
            kind=kind,
            codes=read_codes(form.codes.data or "", canonical=kind.canonical, spaced=kind.spaced),
        )
    )
    each = reading.whole("each", low=1, high=MOST_LABELS)
    sheet = reading.sheet()
    start = reading.whole("start", low=1, high=sheet.labels if sheet else MOST_LABELS)
    if texts is None or sheet is None or reading.failed:
        return None
    labels = reading.of(
        lambda: labels_of(
            texts, base=base.address, each=each or 1, per_tray=bool(form.per_tray.data)
        )
    )
    if labels is None:
        return None
    return WantedLabels(labels=labels, sheet=sheet, start=start or 1)


def read_sheet(form: LabelsForm) -> LabelSheet | None:
    """Return the sheet alone; None with a sentence beside each field that is wrong."""
    return _FormReading(form).sheet()


class _FormReading:
    """Reads the fields of the form and puts each sentence beside its own."""

    def __init__(self, form: LabelsForm) -> None:
        self._form = form
        self.failed = False

    def of(self, read: Callable[[], T]) -> T | None:
        """Return what was read, None where it was refused."""
        try:
            return read()
        except NotAccepted as refusal:
            self.refuse(refusal)
            return None

    def refuse(self, refusal: NotAccepted) -> None:
        """Put each sentence beside its field."""
        self.failed = True
        for problem in refusal.problems:
            field = self._form[problem.field]
            field.errors = [*field.errors, problem.sentence]

    def whole(self, name: str, *, low: int, high: int) -> int | None:
        """Return a whole number, None for a blank or where it was refused."""
        reading = Reading()
        value = reading.whole(self._form[name].data, field=name, low=low, high=high)
        if reading.failed:
            self.refuse(reading.refusal())
        return value

    def sheet(self) -> LabelSheet | None:
        """Return the sheet chosen, or the one of the measures typed."""
        if self._form.sheet.data != OWN:
            return self.of(lambda: parse_sheet(self._form.sheet.data or ""))
        typed = {name: self._measure(name) for name in OWN_FIELDS}
        size = (typed["label_w"] or 0.0, typed["label_h"] or 0.0)
        page = (typed["page_w"], typed["page_h"])
        grid = (int(typed["across"] or 1), int(typed["down"] or 1))
        if any(self._form[name].errors for name in OWN_FIELDS):
            return None
        if page == (None, None) and grid == (1, 1):
            return self.of(lambda: accepted_sheet(single_label(size), field="label_w"))
        return self.of(
            lambda: accepted_sheet(
                own_sheet(
                    page_mm=(page[0] or 0.0, page[1] or 0.0),
                    grid=grid,
                    label_mm=size,
                    start_mm=(typed["left"] or 0.0, typed["top"] or 0.0),
                    gaps_mm=(typed["gap_x"] or 0.0, typed["gap_y"] or 0.0),
                ),
                field="label_w",
            )
        )

    def _measure(self, name: str) -> float | None:
        if name in {"across", "down"}:
            return self.whole(name, low=1, high=40)
        return self.of(
            lambda: parse_measure(
                self._form[name].data or "", field=name, low=0, high=LONGEST_MM, unit="mm"
            )
        )
