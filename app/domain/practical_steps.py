"""The steps of a practical session that a method card gives."""

from collections.abc import Iterable
from typing import Final

from app.domain.card_steps import CardStep
from app.domain.method_card_words import CardLine

# In the order of the work, from the shoot to the bench. Common practice, no source.
_ORDER: Final = (
    "cutting_type", "section", "length", "cut", "leaves", "hormone", "container", "mix", "cover",
    "bottom_heat",
)  # fmt: skip
_STEPS: Final = {
    "cutting_type": "Choose {} shoots that are healthy and true to type",
    "section": "Take the {} of the shoot",
    "length": "Cut to a length of {}",
    "cut": "Make the base a {} cut",
    "leaves": "Leave {} leaves on",
    "hormone": "Dip the base: {}",
    "container": "Stick into: {}",
    "mix": "Fill with: {}",
    "cover": "Cover: {}",
    "bottom_heat": "Set the bottom heat to {}",
}


def steps_of_card(lines: Iterable[CardLine], *, steps: Iterable[CardStep] = ()) -> tuple[str, ...]:
    """Return a card's own steps with their reasons, or one for each thing it says of the work.

    `lines` are what the card says; without steps of its own they come in the order of the work.
    """
    own = tuple(f"{each.step} ({each.reason})" if each.reason else each.step for each in steps)
    if own:
        return own
    said = {line.group: line.words for line in lines}
    found = [_STEPS[group].format(said[group]) for group in _ORDER if group in said]
    notes = [note.strip() for note in said.get("notes", "").splitlines() if note.strip()]
    return (*found, *notes)
