"""By what to look over the batches, as a form; it is sent by GET."""

from werkzeug.datastructures import MultiDict
from wtforms import Form, SelectChoice, SelectField, StringField

from app.domain.problems import NotAccepted
from app.domain.standouts_questions import StandoutBy


class StandoutForm(Form):
    """What is looked over, and between which days of sticking."""

    by = SelectField("by", choices=[SelectChoice(each.value, each.label) for each in StandoutBy])
    since = StringField("stuck since")
    until = StringField("until")

    def __init__(self, args: MultiDict[str, str]) -> None:
        super().__init__(args)

    def refuse(self, refusal: NotAccepted) -> None:
        """Put each sentence beside the field it is about."""
        for problem in refusal.problems:
            field = self[problem.field]
            field.errors = [*field.errors, problem.sentence]
