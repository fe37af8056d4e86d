"""The room that a season is planned under, as a form; it is sent by GET and stores nothing."""

from wtforms import Form, StringField

from app.domain.problems import NotAccepted
from app.domain.quantities import parse_optional_quantity

MOST_TRAYS = 100_000
MOST_PER_TRAY = 2_000


class SeasonForm(Form):
    """Trays free in each week, plugs in a tray, cuttings that can be stuck in a week."""

    trays = StringField("Trays free each week", description="Blank: the room on the benches now.")
    per_tray = StringField("Plugs in a tray", description="Blank: 84.")
    labour = StringField("Cuttings you can stick in a week", description="Blank: no limit.")

    def numbers(self) -> dict[str, int | None] | None:
        """Return the numbers typed, or None with a sentence beside each field that is wrong."""
        most = {"trays": MOST_TRAYS, "per_tray": MOST_PER_TRAY, "labour": None}
        found: dict[str, int | None] = {}
        for name, limit in most.items():
            field = self[name]
            try:
                bound = {} if limit is None else {"most": limit}
                typed = parse_optional_quantity(field.data or "", field=name, least=1, **bound)
            except NotAccepted as refusal:
                field.errors = [problem.sentence for problem in refusal.problems]
                continue
            found[name] = typed.number if typed else None
        return None if self.errors or len(found) < len(most) else found
