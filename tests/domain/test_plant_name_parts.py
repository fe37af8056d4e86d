"""How a name is printed: Latin in italics; ranks, signs, Groups and cultivars upright.

Single quotation marks round a cultivar epithet: ICNCP Art. 14, FROM MEMORY, and CONFIRMED by a
teaching slide of Cornell University (hort243, "Rules for cultivars"). Italics for Latin names are
common practice (ICN preface, FROM MEMORY).
"""

import pytest

from app.domain.plant_names import kept_plant_name

# Italics are written between underscores.
PRINTED = [
    ("Rosa xanthina", "_Rosa xanthina_"),
    ("Lavandula × intermedia 'Grosso'", "_Lavandula_ × _intermedia_ ‘Grosso’"),
    ("× Fatshedera lizei", "× _Fatshedera lizei_"),
    ("+ Laburnocytisus 'Adamii'", "+ _Laburnocytisus_ ‘Adamii’"),
    ("Acer palmatum var. dissectum 'Garnet'", "_Acer palmatum_ var. _dissectum_ ‘Garnet’"),
    (
        "Hydrangea macrophylla (Lacecap Group) 'Blue Wave'",
        "_Hydrangea macrophylla_ (Lacecap Group) ‘Blue Wave’",
    ),
    ("Brassica oleracea Capitata Group", "_Brassica oleracea_ Capitata Group"),
    ("Cymbidium Alexanderi g. 'Westonbirt'", "_Cymbidium_ Alexanderi g. ‘Westonbirt’"),
    ("Rosa gallica × Rosa moschata", "_Rosa gallica_ × _Rosa moschata_"),
    ("Rosa × alba × Rosa moschata", "_Rosa_ × _alba_ × _Rosa moschata_"),
    ("Lavandula cf. angustifolia", "_Lavandula_ cf. _angustifolia_"),
    ("Euonymus fortunei 'Emerald 'n' Gold'", "_Euonymus fortunei_ ‘Emerald ’n’ Gold’"),
    ("Lavandula angustifolia Hidcote", "_Lavandula angustifolia_ Hidcote"),
]


@pytest.mark.parametrize(("plain", "printed"), PRINTED)
def test_a_name_is_printed_in_pieces(plain: str, printed: str) -> None:
    pieces = kept_plant_name(plain).pieces
    marked = "".join(f"_{piece.text}_" if piece.italic else piece.text for piece in pieces)
    assert marked == printed


def test_a_name_tells_its_parts_in_words() -> None:
    name = kept_plant_name("Acer palmatum var. dissectum 'Garnet'")
    assert [(part.word, part.text) for part in name.parts] == [
        ("genus", "Acer"),
        ("species", "palmatum"),
        ("lower rank", "var. dissectum"),
        ("cultivar", "Garnet"),
    ]
    crossed = kept_plant_name("Rosa gallica × Rosa moschata")
    assert ("second parent", "Rosa moschata") in [(part.word, part.text) for part in crossed.parts]
    hybrid = kept_plant_name("Viburnum × bodnantense 'Dawn'")
    assert ("hybrid", "between species") in [(part.word, part.text) for part in hybrid.parts]
