"""Names as they are typed, against a list of well-known ones.

Source of the list: names of own choice; what is expected follows the ICNCP, 9th edition (2016),
and the ICN (2018), both FROM MEMORY by article; single quotation marks, capitals, 30 characters
and no abbreviations are CONFIRMED by a teaching slide of Cornell University (hort243, "Rules for
cultivars").
"""

import csv
import re
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.domain.plant_names import (
    HybridKind,
    NameStatus,
    kept_plant_name,
    parse_plant_name,
)
from app.domain.problems import NotAccepted

CASES = Path(__file__).parent.parent / "data" / "plant_names_cases.csv"


def cases() -> list[dict[str, str]]:
    lines = CASES.read_text(encoding="utf-8").splitlines()
    return list(csv.DictReader(line for line in lines if not line.startswith("#")))


ACCEPTED = [row for row in cases() if row["status"] != "reject"]
REFUSED = [row for row in cases() if row["status"] == "reject"]


def test_the_list_is_complete() -> None:
    assert (len(ACCEPTED), len(REFUSED)) == (59, 10)


@pytest.mark.parametrize("row", ACCEPTED, ids=lambda row: row["input"])
def test_a_listed_name_is_taken_as_its_row_says(row: dict[str, str]) -> None:
    parsed = parse_plant_name(row["input"])
    name = parsed.name
    assert (parsed.status, parsed.normalised) == (row["status"], row["normalised"])
    assert {
        "genus": name.genus,
        "hybrid": name.hybrid,
        "species": name.species,
        "infraspecific": name.infraspecific,
        "group": name.group,
        "grex": name.grex,
        "cultivar": name.cultivar,
    } == {
        part: row[part]
        for part in ("genus", "hybrid", "species", "infraspecific", "group", "grex", "cultivar")
    }
    assert bool(parsed.notes) == (row["status"] != "ok")


@pytest.mark.parametrize("row", REFUSED, ids=lambda row: row["input"] or "empty")
def test_a_listed_name_is_refused_with_a_sentence(row: dict[str, str]) -> None:
    with pytest.raises(NotAccepted) as refused:
        parse_plant_name(row["input"])
    (problem,) = refused.value.problems
    assert problem.field == "plant"
    assert problem.sentence.split()[0] in {
        "Begin", "Close", "Keep", "Take", "Type", "Write",
    }  # fmt: skip


def test_a_formula_has_a_second_parent() -> None:
    name = parse_plant_name("Rosa gallica × Rosa moschata").name
    assert name.second_parent is not None
    assert name.second_parent.plain == "Rosa moschata"


def test_a_selling_name_has_a_field_of_its_own() -> None:
    assert parse_plant_name("Choisya ternata SUNDANCE ('Lich')").name.trade_designation == (
        "SUNDANCE"
    )


def test_qualifiers_and_what_could_not_be_told_are_kept() -> None:
    assert parse_plant_name("Lavandula sp.").name.qualifier == "sp."
    assert parse_plant_name("Lavandula cf. angustifolia").name.qualifier == "cf."
    assert parse_plant_name("Lavandula angustifolia Hidcote").name.unplaced == "Hidcote"


NORMALISED = [
    ("Mentha aquatica × M. arvensis", "Mentha aquatica × Mentha arvensis"),
    ("rosa gallica x moschata", "Rosa gallica × Rosa moschata"),
    ("rosa gallica x rubus odoratus", "Rosa gallica × Rubus odoratus"),
    ("Rosa 'Peace' × Rosa 'Masquerade'", "Rosa 'Peace' × Rosa 'Masquerade'"),
    ("Rosa × alba × Rosa moschata", "Rosa × alba × Rosa moschata"),
    ("xFatshedera lizei", "× Fatshedera lizei"),
    ("Lavandula xIntermedia", "Lavandula × intermedia"),
    ("Lavandula × Intermedia 'Grosso'", "Lavandula × intermedia 'Grosso'"),
    ("LAVANDULA ANGUSTIFOLIA 'HIDCOTE'", "Lavandula angustifolia 'Hidcote'"),
    ("Acer palmatum Thunb. var. dissectum (Thunb.) Miq. 'Garnet'",
     "Acer palmatum var. dissectum 'Garnet'"),
    ("Pinus strobus L. f. nana", "Pinus strobus f. nana"),
    ("Abies firma Siebold & Zucc.", "Abies firma"),
    ("Cedrus atlantica (Endl.) Manetti ex Carrière", "Cedrus atlantica"),
    ("Cupressus macrocarpa Hartw. ex Gordon 'Goldcrest'", "Cupressus macrocarpa 'Goldcrest'"),
    ("Hebe speciosa Hook. f.", "Hebe speciosa"),
    ("Hydrangea macrophylla 'Blue Wave' (Lacecap Group)",
     "Hydrangea macrophylla (Lacecap Group) 'Blue Wave'"),
    ("Brassica oleracea (Capitata Group)", "Brassica oleracea Capitata Group"),
    ("Brassica oleracea L. Capitata Gp", "Brassica oleracea Capitata Group"),
    ("Hydrangea lacecap group", "Hydrangea Lacecap Group"),
    ("Cymbidium alexanderi gx 'Westonbirt'", "Cymbidium Alexanderi g. 'Westonbirt'"),
    ("Choisya ternata Sundance ('Lich'PBR)", "Choisya ternata 'Lich'"),
    ("Choisya ternata 'Lich' SUNDANCE®", "Choisya ternata 'Lich'"),
    ("Lavandula ''Hidcote''", "Lavandula 'Hidcote'"),
    ("Lavandula angustifolia, 'Hidcote'.", "Lavandula angustifolia 'Hidcote'"),
    ("Lavandula cv. bishop of llandaff", "Lavandula 'Bishop of Llandaff'"),
    ("Lavandula cv. 'Hidcote'", "Lavandula 'Hidcote'"),
    ("Lavandula sp. 'Hidcote'", "Lavandula 'Hidcote'"),
    ("cf. Lavandula angustifolia", "Lavandula cf. angustifolia"),
    ("Dahlia 'BISHOP OF LLANDAFF'", "Dahlia 'Bishop of Llandaff'"),
    ("Ribes 'KING EDWARD VII'", "Ribes 'King Edward VII'"),
    ("Rosa 'Rayon d'Or'", "Rosa 'Rayon d'Or'"),
    ("Clematis ‘Travellers’ Joy’", "Clematis 'Travellers' Joy'"),
    ("Lavandula\u200b angustifolia", "Lavandula angustifolia"),
    ("Narcissus 'Te\u0302te-a\u0300-te\u0302te'", "Narcissus 'Tête-à-tête'"),
    ("Heuchera 'Plum Pudding' PBR", "Heuchera 'Plum Pudding'"),
    ("Euphorbia characias fo. alba", "Euphorbia characias f. alba"),
]  # fmt: skip


@pytest.mark.parametrize(("typed", "kept"), NORMALISED)
def test_what_people_type_is_put_right(typed: str, kept: str) -> None:
    assert parse_plant_name(typed).normalised == kept


ASKED = [
    ("Lavandula", "genus"),
    ("Ilex aquifolium J.C. van Tol", "cultivar"),
    ("Fuchsia Mrs. Popple", "cultivar"),
    ("Acer palmatum dissectum 'Garnet'", "rank"),
    ("Choisya ternata SUNDANCE", "selling name"),
    ("Rosa Fabia g.", "orchid"),
    ("Cymbidium Alexanderi 'Westonbirt'", "cultivar"),
    ("Acer palmatum var. Dissectum", "small"),
    ("Xfatshedera lizei", "hybrid sign"),
    ("Dahlia 'ABC'", "capitals"),
]


@pytest.mark.parametrize(("typed", "word"), ASKED)
def test_what_cannot_be_told_is_asked(typed: str, word: str) -> None:
    parsed = parse_plant_name(typed)
    assert parsed.status is NameStatus.WARN
    assert word in " ".join(parsed.notes)


REFUSALS = [
    ("lavandula angustifolia from the bench", "single quotation marks"),
    ("Acer var. dissectum", "species before"),
    ("Acer palmatum Foo var. dissectum", "before the rank"),
    ("Lavandula Hidcote'", "before the cultivar"),
    ("Clematis 'Travellers' Joy", "nothing follows"),
    ("Salvia rosmarinus (Rosmarinus officinalis)", "brackets"),
    ("Crataegus + Mespilus", "before its genus"),
    ("Lavandula angust. 'Hidcote'", "in full"),
    ("Лаванда", "Begin with the genus"),
    ("Rosa 'Salt & Pepper'", "“&”"),
    ("Rosa 'Oh! Oh!'", "exclamation"),
    ("Lavandula cf.", "follows cf."),
    ("Hydrangea (Group) 'Blue Wave'", "name of the Group"),
    ("Cymbidium g.", "name of the grex"),
    ("Lavandula " + "a" * 300, "200"),
    ("Rosa canina Foo (Polyantha Group)", "“Foo”"),
]


@pytest.mark.parametrize(("typed", "words"), REFUSALS)
def test_what_is_no_name_is_refused(typed: str, words: str) -> None:
    with pytest.raises(NotAccepted, match=re.escape(words)):
        parse_plant_name(typed)


def test_a_letter_x_inside_an_epithet_stays() -> None:
    assert parse_plant_name("Rosa 'Madame x Blanc'").name.hybrid is HybridKind.NONE


SCRAPS = (
    "Lavandula angustifolia × x X + var. f. subsp. ssp 'Hidcote' ‘Blue’ 'hidcote HIDCOTE Group "
    "(Lacecap Group) group g. Mill. (Thunb.) & ex L. sp. cf. cv. PBR ® SUNDANCE ('Lich') of 2026 "
    "xanthina xintermedia Cymbidium Rosa gallica R. 'n' ' '' \" ( ) , . Tête-à-tête J.C. van Tol"
)
WORDS = st.sampled_from(SCRAPS.split())
LATIN_LIKE = st.lists(WORDS, min_size=1, max_size=9).map(" ".join)
ODD = st.text(max_size=60)
ODD_EPITHET = st.text(max_size=20).map(lambda text: f"Rosa canina '{text}'")


@given(st.one_of(LATIN_LIKE, ODD, ODD_EPITHET, st.builds("{} {}".format, LATIN_LIKE, ODD)))
def test_any_text_is_taken_or_refused_and_what_is_kept_reads_as_itself(text: str) -> None:
    try:
        parsed = parse_plant_name(text)
    except NotAccepted as refused:
        assert [problem.field for problem in refused.problems] == ["plant"]
        return
    again = parse_plant_name(parsed.normalised)
    assert again.normalised == parsed.normalised
    assert again.status is not NameStatus.NORMALISE
    assert kept_plant_name(parsed.normalised).pieces == parsed.name.pieces
    assert (
        "".join(piece.text for piece in parsed.name.pieces).replace("‘", "'").replace("’", "'")
        == parsed.normalised
    )
