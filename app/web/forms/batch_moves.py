"""The form of a move: where to, on which day, and whether only some trays go."""

from datetime import date

from wtforms import SelectChoice, SelectField, StringField

from app.domain.batch_moves import MoveEntry
from app.domain.days import parse_day
from app.domain.problems import NotAccepted
from app.domain.quantities import parse_optional_quantity
from app.store.queries.batch_choices import Choice
from app.web.forms.base import PostForm

OFF_THE_BENCHES = "off"


class BatchMoveForm(PostForm):
    """A move of a batch, or of some of its trays, as typed."""

    bench = SelectField("To", choices=[], validate_choice=False)
    moved_on = StringField("Moved on", description='"24/11", "24 nov", "-3" or "t" for today.')
    trays = StringField("Only so many trays", description="Blank for all of them.")
    from_bench = SelectField("From", choices=[], validate_choice=False)

    def offer(self, *, benches: tuple[Choice, ...], stands: tuple[Choice, ...]) -> None:
        """Give the form its benches, and those the batch stands on."""
        self.bench.choices = [
            SelectChoice("", "choose a bench"),
            *(SelectChoice(str(bench.id), bench.name) for bench in benches),
            SelectChoice(OFF_THE_BENCHES, "off the benches"),
        ]
        self.from_bench.choices = [SelectChoice(str(bench.id), bench.name) for bench in stands]


def move_entry(form: BatchMoveForm, *, today: date) -> MoveEntry:
    """Return what was typed.

    Raises:
        NotAccepted: no bench of the list is chosen, or the day or number cannot be read.
    """
    chosen = form.bench.data or ""
    if chosen not in {choice.value for choice in form.bench.choices if choice.value}:
        raise NotAccepted.at("bench", "Choose where it stands now.")
    trays = parse_optional_quantity(form.trays.data or "", field="trays", least=1)
    origin = form.from_bench.data or ""
    return MoveEntry(
        to_bench_id=None if chosen == OFF_THE_BENCHES else int(chosen),
        moved_on=parse_day(form.moved_on.data or "", today=today, field="moved_on"),
        trays=trays.number if trays else None,
        from_bench_id=int(origin) if origin.isascii() and origin.isdecimal() else None,
    )
