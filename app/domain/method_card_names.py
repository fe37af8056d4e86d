"""What a method card is for: a genus, or one species of it, never anything narrower."""

from dataclasses import replace

from app.domain.method_cards import CardEntry, accepted_values
from app.domain.plant_names import HybridKind, parse_plant_name
from app.domain.problems import NotAccepted


def accepted_card(entry: CardEntry) -> CardEntry:
    """Return the entry with genus and species written by the rules and its values tidied.

    Raises:
        NotAccepted: it names no genus, or something narrower than a species; or a value is out
            of range.
    """
    # Epithets of species are written small (ICN Art. 60F, from memory).
    typed = " ".join(f"{entry.genus} {entry.species.lower()}".split())
    if not entry.genus.strip():
        raise NotAccepted.at("genus", 'Name the genus, such as "Cistus".')
    field = "species" if entry.species.strip() else "genus"
    try:
        name = parse_plant_name(typed).name
    except NotAccepted as refused:
        raise NotAccepted.at(field, refused.problems[0].sentence) from refused
    plain = replace(name, hybrid=HybridKind.NONE).plain
    if plain != f"{name.genus} {name.species}".strip():
        sentence = "A card is for a genus, or for one species: leave out the rest of the name."
        raise NotAccepted.at(field, sentence)
    return replace(
        entry, genus=name.genus, species=name.species, values=accepted_values(entry.values)
    )
