"""The forms of a batch: sticking one, correcting one, voiding one.

Numbers and days are taken as typed; what they mean is read in `app.web.batch_forms`. A list to
choose from is filled there as well, since it comes from the database.
"""

from collections.abc import Iterable
from typing import Any, Final

from wtforms import (
    BooleanField,
    FieldList,
    Form,
    FormField,
    HiddenField,
    SelectChoice,
    SelectField,
    StringField,
    TextAreaField,
)

from app.domain.batches import GROWTH_STAGES, USUAL_PLACES, SourceKind
from app.domain.cutting_types import Cut, CuttingType, Section
from app.domain.way_details import GraftMethod, LeafPart, ScaleKind, WayUp
from app.web.forms.base import PostForm, VersionedForm

NOT_RECORDED: Final = "not recorded"
MOST_SOURCES: Final = 20


def _one_of(values: Iterable[str]) -> list[SelectChoice]:
    return [SelectChoice("", NOT_RECORDED), *(SelectChoice(str(value)) for value in values)]


_YES_OR_NO: Final = _one_of(("yes", "no"))


class _Chosen(SelectField):
    """A list to choose from. What was not offered is refused in the words of `batch_reading`."""

    def __init__(self, label: str, choices: Iterable[SelectChoice] = (), **kwargs: Any) -> None:
        super().__init__(label, choices=list(choices), validate_choice=False, **kwargs)


class SourceForm(Form):
    """One line of where the cuttings came from; a line left blank counts as none."""

    kind = _Chosen("From", choices=[SelectChoice(kind.value) for kind in SourceKind])
    stock_plant = StringField("Stock plant", description="Its code, such as S-0031.")
    number = StringField("Number from here")
    supplier = StringField("Supplier")
    lot = StringField("Lot")
    passport = StringField("Plant passport")
    condition = StringField("Condition on arrival")
    place = StringField("Collected at", description="The place in words, where it was collected.")
    permitted_by = StringField("With leave of")
    permit = StringField("Reference of that leave")


class BatchForm(PostForm):
    """A batch to be stuck: six fields in sight, all others folded.

    `asks_new_plant` is true once a plant name that is not in the log was typed, and
    `asks_new_rootstock` once such a rootstock was.
    """

    asks_new_plant = False
    asks_new_rootstock = False

    plant = StringField("Plant name, or a stock plant's code")
    stuck = StringField(
        "Number stuck", description='"96", or in trays: "7 trays of 84 less 12" for 12 gaps.'
    )
    cutting_type = _Chosen("Cutting type", choices=_one_of(CuttingType))
    hormone = StringField(
        "Hormone", description='Such as "IBA talc 1000 ppm", or "none" if none was used.'
    )
    container = _Chosen("Container")
    bench = _Chosen("Bench")
    new_plant = BooleanField("It is a new plant name: add it to the log")

    stuck_on = StringField("Stuck on", description='"24/11", "24 nov", "-3" or "t" for today.')
    taken_on = StringField("Taken on", description="Blank if not known.")
    taken = StringField("Number taken")
    thrown_out = StringField("Thrown out at making")
    thrown_out_cause = StringField("Thrown out because", description="Such as too thin, or wilted.")
    stored_hours = StringField(
        "Stored for", description='Between taking and sticking: "5" (hours), "3 days", "2 weeks".'
    )
    stored_c = StringField("Stored at, °C")
    stored_how = StringField("Stored how", description="Such as damp in a bag, in the fridge.")
    gathered_by = _Chosen("Gathered by")
    gathered_hours = StringField("Hours of gathering")
    made_by = _Chosen("Made by")
    made_hours = StringField("Hours of making")
    stuck_by = _Chosen("Stuck by")
    hours = StringField("Hours of sticking", description="For cuttings per hour.")

    sources = FieldList(FormField(SourceForm), min_entries=1, max_entries=MOST_SOURCES)
    hold_reason = StringField("Reason for taking from a stock plant on hold")
    rights_reason = StringField("Reason for sticking a protected variety without a licence")
    restuck_from = StringField("Re-stuck from batch", description="Its code, such as 26-0147.")

    cut = _Chosen("Cut", choices=_one_of(Cut))
    section = _Chosen("Section", choices=_one_of(Section))
    growth_stage = _Chosen("Stage of growth", choices=_one_of(GROWTH_STAGES))
    length_cm = StringField("Length, cm")
    leaves_left = StringField("Leaves left on")
    leaves_halved = _Chosen("Leaves halved", choices=_YES_OR_NO)
    wounded = _Chosen("Wounded", choices=_YES_OR_NO)
    flowering = _Chosen("In flower or bud", choices=_YES_OR_NO)
    buds_removed = _Chosen("Flower buds removed", choices=_YES_OR_NO)
    dip_s = StringField("Seconds in the hormone")

    mix = _Chosen("Mix")
    mix_lot = StringField("Mix lot", description="Such as M-0001; the mix follows from it.")
    per_place = StringField("Cuttings per plug or pot")
    placed = _Chosen("Where in it", choices=_one_of(USUAL_PLACES))
    cover = StringField("Cover", description='Such as "mist" or "closed case"; "none" for none.')
    bottom_heat_c = StringField("Bottom heat, °C")
    shade = StringField("Shade")

    way_up = _Chosen("Which way up", choices=_one_of(WayUp))
    leaf_part = _Chosen("What of the leaf", choices=_one_of(LeafPart))
    scale_kind = _Chosen("What of the bulb", choices=_one_of(ScaleKind))
    graft_method = _Chosen("How it was grafted", choices=_one_of(GraftMethod))
    rootstock = StringField("Rootstock", description="Its plant name; the scion is the plant.")
    new_rootstock = BooleanField("It is a new plant name: add this rootstock to the log")
    rootstock_source = StringField("Rootstocks from", description="Supplier and lot.")
    union_cm = StringField("Union above the ground, cm")

    trial_block = StringField("Trial block")
    own_reference = StringField("Own reference", description="From your notebook or label.")
    notes = TextAreaField("Notes")

    card_version = HiddenField()
    prefilled = HiddenField()


class BatchStickForm(BatchForm):
    """A new batch, and the order it counts to; that is changed on the page of the order later."""

    order = _Chosen("Counts to order")
    tag = StringField(
        "Label printed ahead",
        description="Its number, such as N-0042, where such a label is on the trays already.",
    )


class BatchCorrectionForm(BatchForm, VersionedForm):
    """A batch as it stands, to be put right."""

    reason = StringField("Why it is corrected", description="Blank for a slip of the keyboard.")


class BatchVoidForm(PostForm):
    """Why a batch is taken out of the log."""

    reason = StringField("Reason", description='Such as "entered twice, see 26-0147".')
