"""The plant names that have a method card of their own."""

from sqlalchemy.orm import Session

from app.domain.problems import NotAccepted
from app.services.plant_names import ResolvedPlant, resolve_plant


def find_card_plant(session: Session, *, typed: str) -> ResolvedPlant:
    """Return the plant name in the log that a card of its own was typed for.

    Raises:
        NotAccepted: at "plant", it is no name, not in the log yet, or no more than a species.
    """
    found = resolve_plant(session, typed=typed)
    if found.name.plain == f"{found.name.genus} {found.name.species}".strip():
        sentence = "This is a genus or a species: write it under Genus and Species instead."
        raise NotAccepted.at("plant", sentence)
    if found.plant_name_id is None:
        sentence = (
            f"{found.name.plain} is not in the log yet. Add it under Plant names first, or write "
            "the card for its genus or species."
        )
        raise NotAccepted.at("plant", sentence)
    return found
