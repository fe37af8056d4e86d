"""The form of a move: where to, on which day, and whether only some trays go."""

from wtforms import SelectChoice, SelectField, StringField

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
