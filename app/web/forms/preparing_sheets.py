"""The forms of a preparing sheet: its lines, and how a hormone is made up. Sent by GET."""

from typing import Final

from wtforms import Form, HiddenField, SelectChoice, SelectField, StringField

from app.domain.hormone_amounts import SUBSTANCES
from app.store.queries.preparing_sheets import PreparingChoices

READY: Final = "ready"
STOCK: Final = "stock"
POWDER: Final = "powder"
NONE: Final = "-"
_WAYS: Final = {
    READY: "a product ready for use",
    STOCK: "an authorised concentrate, thinned",
    POWDER: "raw powder, weighed",
}


class LineForm(Form):
    """One batch that is to be stuck. What is left blank is as it was the last time."""

    plant = StringField("Plant")
    cuttings = StringField("Cuttings")
    per_place = StringField("In each plug or pot")
    container = SelectField("Container", validate_choice=False)
    mix = SelectField("Mix", validate_choice=False)
    hormone = StringField("Hormone")
    bench = SelectField("Bench", validate_choice=False)

    @property
    def is_blank(self) -> bool:
        """Whether neither a plant nor a number was typed."""
        return not ((self.plant.data or "").strip() or (self.cuttings.data or "").strip())

    def offer(self, choices: PreparingChoices) -> None:
        """Give the lists their choices."""
        for field, names in (
            (self.container, choices.containers),
            (self.mix, choices.mixes),
            (self.bench, choices.room),
        ):
            listed = [SelectChoice(name) for name in names]
            field.choices = [SelectChoice("", "as last time"), *listed, SelectChoice(NONE, "none")]


class DipForm(Form):
    """How one hormone is made up."""

    of = HiddenField()
    way = SelectField("Made from", validate_choice=False)
    volume = StringField("How much is wanted", description='"500 ml" or "1 l".')
    stock_of = SelectField("In the bottle or tub", choices=list(SUBSTANCES), validate_choice=False)
    stock = StringField("Strength of the concentrate", description='"1 %" or "10000 ppm".')
    solvent = StringField("Alcohol or other solvent in it, %", description="0 if water.")
    purity = StringField("Purity of the powder, %", description="As its label says.")

    def offer(self, *, powder: bool) -> None:
        """Give the ways of making it up; raw powder only where the head allows it."""
        ways = (READY, STOCK, POWDER) if powder else (READY, STOCK)
        self.way.choices = [SelectChoice(way, _WAYS[way]) for way in ways]


class PreparingForm(Form):
    """What the sheet is for, and the measures of bags and of settling."""

    title = StringField("For", description='Such as "Thursday" or "week 48".')
    potting = StringField(
        "Potting reference, %", description="Of 100 l loose, how many fill pots. Blank: 100."
    )
    bag = StringField("Litres in a bag", description="Blank: no bags.")
