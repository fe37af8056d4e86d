"""From what was typed for a preparing sheet to the sheet; every problem is told by its field."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Any, Final

from werkzeug.datastructures import MultiDict
from wtforms import Form

from app.domain.calculator_answers import (
    READ_LABEL,
    DilutionQuestion,
    dilution_answer,
    weighing_answer,
)
from app.domain.hormone_amounts import SUBSTANCES, Substance, parse_strength, use_advisories
from app.domain.hormones import Hormone, parse_hormone
from app.domain.preparing_sheets import (
    BatchToStick,
    ContainerMeasure,
    HormoneNeed,
    MixRecipe,
    PreparingSheet,
    prepare,
)
from app.domain.problems import NotAccepted, Problem
from app.domain.quantities import Quantity, parse_quantity
from app.domain.worked_sums import WorkedSum
from app.store.queries.preparing_sheets import LastTime, PreparingChoices
from app.web.amount_reading import bare_litres, read_percent, read_positive, read_volume_ml
from app.web.form_reading import Reading
from app.web.forms.preparing_sheets import (
    NONE,
    POWDER,
    STOCK,
    DipForm,
    LineForm,
    PreparingForm,
)

FEWEST_LINES: Final = 4
MOST_LINES: Final = 40
_MORE_LINES: Final = 4
_MOST_PER_PLACE: Final = 20
_LEAST_POTTING: Final = 20
_CHOOSE: Final = "Choose one from the list."
_NEVER: Final = LastTime(code="", container="", mix="", hormone="", bench="", per_place=1)


@dataclass(frozen=True, kw_only=True)
class MadeUp:
    """A hormone with its form, and what was worked out, None where nothing is to be or can be."""

    need: HormoneNeed
    form: DipForm
    answer: WorkedSum | None


def line_forms(args: MultiDict[str, str], *, choices: PreparingChoices) -> tuple[LineForm, ...]:
    """Return the lines as typed, at least four, and more of them where asked for."""
    shown = sum(f"lines-{number}-plant" in args for number in range(MOST_LINES))
    wanted = max(shown, FEWEST_LINES) + (_MORE_LINES if "more" in args else 0)
    forms = []
    for number in range(min(wanted, MOST_LINES)):
        form = LineForm(args, prefix=f"lines-{number}-")
        form.offer(choices)
        forms.append(form)
    return tuple(forms)


def read_sheet(
    form: PreparingForm,
    *,
    lines: Sequence[LineForm],
    choices: PreparingChoices,
    last_time: Callable[[str], LastTime | None],
) -> PreparingSheet | None:
    """Return the sheet; None where nothing or nothing sensible was typed, said by each field."""
    reading = Reading()
    potting = reading.of(
        lambda: read_percent(form.potting.data or "", field="potting", low=_LEAST_POTTING)
    )
    bag = reading.of(lambda: read_positive(bare_litres(form.bag.data), field="bag", unit="litres"))
    batches = [
        _read_line(reading, line, choices=choices, last_time=last_time)
        for line in lines
        if not line.is_blank
    ]
    if reading.failed:
        say_refusal(reading.refusal(), forms=(form, *lines))
        return None
    if not batches:
        return None
    return prepare(
        tuple(batch for batch in batches if batch),
        room=choices.room,
        potting_share=1.0 if potting is None else potting / 100,
        bag_litres=bag,
    )


def make_up(
    sheet: PreparingSheet, *, args: MultiDict[str, str], powder: bool
) -> tuple[MadeUp, ...]:
    """Return each hormone of the sheet with what was typed for it and what that comes to.

    What was typed belongs to a hormone by its name, so that lines may come and go between.
    """
    before = {args.get(f"dips-{number}-of"): number for number in range(MOST_LINES)}
    made = []
    for number, need in enumerate(sheet.hormones):
        typed: MultiDict[str, str] = MultiDict()
        old = before.get(need.hormone.label)
        for name in DipForm(prefix="x")._fields if old is not None else ():
            typed[f"dips-{number}-{name}"] = args.get(f"dips-{old}-{name}", "")
        form = DipForm(
            typed or None,
            prefix=f"dips-{number}-",
            of=need.hormone.label,
            stock_of=need.hormone.substance,
        )
        form.offer(powder=powder)
        made.append(MadeUp(need=need, form=form, answer=_answer(need, form, powder=powder)))
    return tuple(made)


def say_refusal(refusal: NotAccepted, *, forms: Sequence[Form]) -> None:
    """Put each sentence beside the field it is about, in whichever of the forms that stands."""
    for problem in refusal.problems:
        for form in forms:
            for field in form:
                if field.name == problem.field:
                    field.errors = [*field.errors, problem.sentence]


def _read_line(
    reading: Reading,
    line: LineForm,
    *,
    choices: PreparingChoices,
    last_time: Callable[[str], LastTime | None],
) -> BatchToStick | None:
    plant = " ".join((line.plant.data or "").split())
    if not plant:
        sentence = "Say what is to be stuck, or leave the number blank too."
        reading.of(lambda: _refuse(line.plant.name, sentence))
    last = (last_time(plant) if plant else None) or _NEVER
    container: ContainerMeasure | None = _chosen(
        reading, line.container, among=choices.containers, last=last.container
    )
    mix: MixRecipe | None = _chosen(reading, line.mix, among=choices.mixes, last=last.mix)
    benches = {name: name for name in choices.room}
    bench = _chosen(reading, line.bench, among=benches, last=last.bench)
    typed = line.hormone.data or last.hormone
    hormone = reading.of(lambda: parse_hormone(typed, field=line.hormone.name))
    per_place = reading.whole(
        line.per_place.data, field=line.per_place.name, low=1, high=_MOST_PER_PLACE
    )
    quantity = reading.of(lambda: _quantity(line, container))
    if quantity is None:
        return None
    return BatchToStick(
        plant=plant,
        cuttings=quantity.number,
        per_place=per_place or last.per_place,
        trays=quantity.trays if _is_of(quantity, container) else None,
        container=container,
        mix=mix,
        hormone=hormone,
        bench=bench or "",
    )


def _is_of(quantity: Quantity, container: ContainerMeasure | None) -> bool:
    """Return whether the trays typed are such as the container: others are filled anew."""
    return container is not None and container.plugs in {None, quantity.per_tray}


def _quantity(line: LineForm, container: ContainerMeasure | None) -> Quantity:
    return parse_quantity(
        line.cuttings.data or "",
        field=line.cuttings.name,
        least=1,
        per_tray=container.plugs if container else None,
    )


def _chosen(reading: Reading, field: Any, *, among: dict[str, Any], last: str) -> Any:
    """Return what was chosen, or was used the last time; None for none."""
    if field.data == NONE:
        return None
    if not field.data:
        return among.get(last)
    if field.data not in among:
        reading.of(lambda: _refuse(field.name, _CHOOSE))
        return None
    return among[field.data]


def _refuse(field: str, sentence: str) -> None:
    raise NotAccepted((Problem(field=field, sentence=sentence),))


def _answer(need: HormoneNeed, form: DipForm, *, powder: bool) -> WorkedSum | None:
    substance, ppm = SUBSTANCES.get(need.hormone.substance), need.hormone.ppm
    if not need.is_liquid:
        return _as_it_comes(need.hormone)
    if substance is None or not ppm or form.way.data not in {STOCK, POWDER}:
        return WorkedSum(
            sentence=f"Ready for use: {need.hormone.label}.",
            advisories=(*use_advisories(ppm, soak=need.is_soak), READ_LABEL)
            if ppm
            else (READ_LABEL,),
        )
    reading = Reading()
    answer = None
    try:
        if form.way.data == STOCK:
            answer = _thinned(reading, need, form, substance=substance)
        elif powder:
            answer = _weighed(reading, need, form, substance=substance)
    except NotAccepted as refusal:
        # The sums name a field of one dip; here there are several.
        moved = [replace(problem, field=form[problem.field].name) for problem in refusal.problems]
        say_refusal(NotAccepted(tuple(moved)), forms=(form,))
    if reading.failed:
        say_refusal(reading.refusal(), forms=(form,))
    return answer


def _as_it_comes(hormone: Hormone) -> WorkedSum:
    return WorkedSum(
        sentence=f"{hormone.label} is taken as it comes: tip a little into a dish.",
        advisories=(READ_LABEL,),
    )


def _thinned(
    reading: Reading, need: HormoneNeed, form: DipForm, *, substance: Substance
) -> WorkedSum | None:
    stock_of = SUBSTANCES.get(form.stock_of.data or "", substance)
    volume = reading.of(lambda: read_volume_ml(form.volume.data or "", field=form.volume.name))
    stock = reading.of(
        lambda: parse_strength(form.stock.data or "", field=form.stock.name, substance=stock_of)
    )
    solvent = reading.of(lambda: read_percent(form.solvent.data or "", field=form.solvent.name))
    if solvent is None and not form.solvent.data:
        sentence = "Give the share of solvent in it: 0 if it is in water."
        reading.of(lambda: _refuse(form.solvent.name, sentence))
    if volume is None or stock is None or solvent is None:
        return None
    return dilution_answer(
        DilutionQuestion(
            wanted_of=substance,
            wanted_ppm=need.hormone.ppm or 0,
            stock_of=stock_of,
            stock_ppm=stock,
            volume_ml=volume,
            solvent_share=solvent / 100,
            soak=need.is_soak,
        )
    )


def _weighed(
    reading: Reading, need: HormoneNeed, form: DipForm, *, substance: Substance
) -> WorkedSum | None:
    volume = reading.of(lambda: read_volume_ml(form.volume.data or "", field=form.volume.name))
    purity = reading.of(lambda: read_percent(form.purity.data or "", field=form.purity.name, low=1))
    if purity is None and not form.purity.data:
        sentence = "Give the purity on the powder's label, such as 98 %."
        reading.of(lambda: _refuse(form.purity.name, sentence))
    if volume is None or purity is None:
        return None
    return weighing_answer(
        substance,
        wanted_ppm=need.hormone.ppm or 0,
        powder_of=SUBSTANCES.get(form.stock_of.data or "", substance),
        volume_ml=volume,
        purity_share=purity / 100,
        soak=need.is_soak,
    )
