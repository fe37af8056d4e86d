"""Cautions by genus: reminders beside the work, never a claim that anything is safe.

A genus that is not here reads "no caution recorded". The head propagator can change a genus's
caution; these are the words it starts with.
"""

from dataclasses import dataclass
from typing import Final

from app.domain.standings import COMMON_PRACTICE

PUBLISHED: Final = "published list of potentially harmful garden plants"
QUOTED: Final = "published list of potentially harmful garden plants, as quoted by a grower"
FORUM: Final = "a trade forum, not confirmed"
MEMORY: Final = "from memory, to be confirmed"

FOLLOW_THE_LABEL: Final = "Follow the product label, local rules and licensed practice."
NOTHING_RECORDED: Final = "no caution recorded"


@dataclass(frozen=True, kw_only=True)
class GenusCaution:
    """What to mind about a genus; `route` is skin, eye, eaten or thorn, joined by " + ".

    `applies_to` narrows it to a species or a kind, blank for the whole genus.
    """

    genus: str
    caution: str
    route: str
    basis: str
    applies_to: str = ""


def _caution(
    genus: str, caution: str, route: str, basis: str, applies_to: str = ""
) -> GenusCaution:
    return GenusCaution(
        genus=genus, caution=caution, route=route, basis=basis, applies_to=applies_to
    )


_CAUTIONS: Final = (
    _caution("Alstroemeria", "skin irritant (tulipalin)", "skin", PUBLISHED),
    _caution("Argyranthemum", "may cause skin allergy", "skin", MEMORY),
    _caution("Berberis", "thorns; yellow sap stains", "skin + thorn", COMMON_PRACTICE),
    _caution("Betula", "pollen allergy", "skin", COMMON_PRACTICE),
    _caution("Bougainvillea", "thorns", "thorn", COMMON_PRACTICE),
    _caution("Buxus", "mild skin irritant", "skin", COMMON_PRACTICE),
    _caution("Caragana", "seeds poisonous", "eaten", COMMON_PRACTICE),
    _caution("Cedrus", "resin", "skin", COMMON_PRACTICE),
    _caution("Celastrus", "fruit harmful", "eaten", COMMON_PRACTICE),
    _caution("Chamaecyparis", "foliage oils may irritate skin", "skin", COMMON_PRACTICE),
    _caution("Choisya", "may irritate skin in sun", "skin", COMMON_PRACTICE),
    _caution("Chrysanthemum", "skin irritant (allergy)", "skin", PUBLISHED),
    _caution("Clematis", "sap irritant", "skin", COMMON_PRACTICE),
    _caution("Cornus", "hairs may irritate skin", "skin", COMMON_PRACTICE),
    _caution("Cotoneaster", "fruit harmful", "eaten", COMMON_PRACTICE),
    _caution("Cupressocyparis", "skin irritant", "skin", PUBLISHED, "leylandii"),
    _caution("Cuprocyparis", "skin irritant", "skin", PUBLISHED, "leylandii"),
    _caution("Cytisus", "poisonous if eaten", "eaten", COMMON_PRACTICE),
    _caution("Dahlia", "mild skin irritant", "skin", COMMON_PRACTICE),
    _caution("Daphne", "poisonous; sap skin irritant", "skin + eaten", PUBLISHED),
    _caution(
        "Dieffenbachia",
        "poisonous; sap skin and eye irritant: gloves",
        "skin + eye + eaten",
        PUBLISHED,
    ),
    _caution("Euonymus", "somewhat poisonous", "eaten", PUBLISHED),
    _caution(
        "Euphorbia",
        "poisonous; sap a skin and eye irritant: gloves, eye protection",
        "skin + eye + eaten",
        PUBLISHED,
    ),
    _caution("Fatsia", "sap may irritate skin, as Hedera", "skin", MEMORY),
    _caution(
        "Ficus",
        "latex skin and eye irritant / allergy",
        "skin + eye",
        PUBLISHED,
        "F. benjamina and F. carica listed; treat all alike",
    ),
    _caution("Fremontodendron", "hairs: skin and eye irritant; mask", "skin + eye", PUBLISHED),
    _caution("Genista", "poisonous if eaten", "eaten", COMMON_PRACTICE),
    _caution("Hedera", "somewhat poisonous; skin irritant (falcarinol)", "skin + eaten", PUBLISHED),
    _caution(
        "Hydrangea", "may cause skin allergy; harmful if eaten", "skin + eaten", COMMON_PRACTICE
    ),
    _caution("Ilex", "berries poisonous; spiny leaves", "eaten + thorn", COMMON_PRACTICE),
    _caution("Ipomoea", "seed poisonous", "eaten", MEMORY),
    _caution("Juniperus", "skin irritant (some)", "skin", COMMON_PRACTICE, "x pfitzeriana"),
    _caution("Lantana", "poisonous if eaten", "eaten", FORUM),
    _caution("Laurus", "may cause skin allergy", "skin", MEMORY),
    _caution("Ligustrum", "somewhat poisonous if eaten", "eaten", QUOTED),
    _caution("Lonicera", "fruit harmful", "eaten", COMMON_PRACTICE),
    _caution("Mahonia", "spiny leaves", "other", COMMON_PRACTICE),
    _caution("Nerium", "VERY poisonous; sap irritant: gloves", "skin + eaten", COMMON_PRACTICE),
    _caution("Pelargonium", "may cause skin allergy", "skin", COMMON_PRACTICE),
    _caution("Pieris", "poisonous if eaten", "eaten", COMMON_PRACTICE),
    _caution("Prunus", "poisonous if eaten", "eaten", COMMON_PRACTICE, "laurocerasus / besseyi"),
    _caution("Pyracantha", "thorns", "thorn", COMMON_PRACTICE),
    _caution(
        "Rhododendron",
        "all parts poisonous (azaleas and rhododendrons); poisonous; nectar too (large-leaved)",
        "eaten",
        COMMON_PRACTICE,
    ),
    _caution("Rosa", "thorns: tetanus", "thorn", COMMON_PRACTICE),
    _caution("Ruta", "sap on skin in sunlight burns", "skin", MEMORY),
    _caution("Sambucus", "leaves poisonous", "eaten", COMMON_PRACTICE),
    _caution(
        "Taxus",
        "VERY poisonous (all but aril); the seed inside the aril is poisonous",
        "eaten",
        COMMON_PRACTICE,
    ),
    _caution("Thuja", "poisonous if eaten; skin irritant (some)", "skin + eaten", COMMON_PRACTICE),
    _caution("Viburnum", "fruit harmful (some)", "eaten", COMMON_PRACTICE),
    _caution("Wisteria", "poisonous if eaten", "eaten", COMMON_PRACTICE),
    _caution("Yucca", "sharp leaf tips: eye protection", "eye", COMMON_PRACTICE),
)
_BY_GENUS: Final = {caution.genus: caution for caution in _CAUTIONS}


def genus_caution(genus: str) -> GenusCaution | None:
    """Return the caution a genus starts with, None where none is recorded."""
    return _BY_GENUS.get(genus)


def caution_words(caution: str, *, applies_to: str = "", basis: str = "") -> str:
    """Return a stored caution in one sentence; a blank one says that none is recorded."""
    if not caution:
        return f"{NOTHING_RECORDED}."
    about = f" ({applies_to})" if applies_to else ""
    standing = f" ({basis})" if basis else ""
    return f"{caution}{about}.{standing}"
