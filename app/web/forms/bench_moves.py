"""The form that moves all that stands on a bench."""

from datetime import date

from wtforms import SelectChoice, SelectField, SelectMultipleField, StringField

from app.domain.days import parse_day
from app.domain.problems import NotAccepted
from app.store.queries.batch_choices import Choice
from app.store.queries.bench_batches import StandingBatch
from app.web.form_reading import Reading
from app.web.forms.base import PostForm
from app.web.forms.batch_moves import OFF_THE_BENCHES


class BenchMoveForm(PostForm):
    """Where all of a bench goes, on which day, and what stays."""

    bench = SelectField("To", choices=[], validate_choice=False)
    moved_on = StringField("Moved on", description='"24/11", "24 nov", "-3" or "t" for today.')
    excepted = SelectMultipleField("These stay", choices=[], coerce=int, validate_choice=False)

    def offer(self, *, benches: tuple[Choice, ...], standing: tuple[StandingBatch, ...]) -> None:
        """Give the form the benches to choose from, and what stands here."""
        self.bench.choices = [
            SelectChoice("", "choose a bench"),
            *(SelectChoice(str(bench.id), bench.name) for bench in benches),
            SelectChoice(OFF_THE_BENCHES, "off the benches"),
        ]
        self.excepted.choices = [SelectChoice(batch.batch_id, batch.code) for batch in standing]

    def wanted(self, *, today: date) -> tuple[int | None, date]:
        """Return the bench chosen, None for off the benches, and the day.

        Raises:
            NotAccepted: no bench was chosen, or it is no day; each by its field.
        """
        reading = Reading()
        chosen = reading.of(self._chosen)
        day = reading.of(lambda: parse_day(self.moved_on.data or "", today=today, field="moved_on"))
        if chosen is None or day is None:
            raise reading.refusal()
        return None if chosen == OFF_THE_BENCHES else int(chosen), day

    def _chosen(self) -> str:
        chosen = self.bench.data or ""
        if chosen not in {choice.value for choice in self.bench.choices if choice.value}:
            raise NotAccepted.at("bench", "Choose where they stand now.")
        return chosen
