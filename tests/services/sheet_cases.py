"""What is tried on each kind of record sheet: an edit, a new line, a wrong one."""

from dataclasses import dataclass


@dataclass(frozen=True, kw_only=True)
class Case:
    """What is tried on one kind: a cell to edit, a line to add, a line that is wrong."""

    edit: dict[str, str]
    new: dict[str, str] | None
    wrong: dict[str, str]
    wrong_column: str


CASES: dict[str, Case] = {
    "batches": Case(
        edit={"cover": "fog", "length_cm": "8.5", "stuck_by": "Tomas Quill"},
        new={
            "plant": "Salvia officinalis",
            "stuck_on": "2026-11-20",
            "stuck": "60",
            "hormone": "IBA",
            "hormone_form": "talc",
            "hormone_ppm": "1000",
        },
        wrong={"plant": "Salvia officinalis", "stuck_on": "2026-11-20", "stuck": "0"},
        wrong_column="stuck",
    ),
    "stock-plants": Case(
        edit={"rest_weeks": "5", "note": "two\nlines"},
        new={"plant": "Salvia officinalis", "plants": "3", "bench": "Far bench"},
        wrong={"plant": "Salvia officinalis", "plants": "-1"},
        wrong_column="plants",
    ),
    "plant-names": Case(
        edit={"common_name": "a hedge of it"},
        new={"plant": "Weigela florida 'Purpurea'", "note": "=1+1"},
        wrong={"plant": "Weigela florida", "rights_until": "2030-01-01"},
        wrong_column="rights_grant",
    ),
    "genera": Case(
        edit={"family": "Rosaceae"},
        new=None,
        wrong={"genus": "Nowhere", "family": "Rosaceae"},
        wrong_column="genus",
    ),
    "benches": Case(
        edit={"capacity_trays": "31"},
        new={"bench": "Far bench", "capacity_trays": "8"},
        wrong={"bench": "Far bench", "capacity_trays": "-8"},
        wrong_column="capacity_trays",
    ),
    "containers": Case(
        edit={"volume_ml": "55.5"},
        new={"container": "Deep tray", "kind": "tray", "plugs": "24"},
        wrong={"container": "Deep pot", "kind": "pot", "plugs": "24"},
        wrong_column="plugs",
    ),
    "hormones": Case(
        edit={},
        new={"hormone": "IBA gel 1500 ppm"},
        wrong={"hormone": "IBA gel 1500 ppm", "ppm": "3000"},
        wrong_column="ppm",
    ),
    "lost-causes": Case(
        edit={"spreads": "no"},
        new={"cause": "vine weevil", "spreads": "no"},
        wrong={"cause": "x"},
        wrong_column="cause",
    ),
    "recipes": Case(
        edit={"recipe": "bark, 3; perlite, 1.25", "shrinkage_share": "0.1"},
        new={"mix": "Sand and bark", "recipe": "sand, 1; bark, 2"},
        wrong={"mix": "Nothing", "recipe": "some of it"},
        wrong_column="recipe",
    ),
    "mix-lots": Case(
        edit={"litres": "280", "medium_ph": "5.6"},
        new={"mix": "Perlite and compost", "made_on": "2026-11-20", "litres": "90"},
        wrong={"mix": "Nothing", "made_on": "2026-11-20"},
        wrong_column="mix",
    ),
    "check-plans": Case(
        edit={"look_every_days": "4"},
        new={"plan": "Hebe: softwood", "first_count_day": "24", "learned": "no"},
        wrong={"plan": "Nowhere", "first_count_day": "24"},
        wrong_column="plan",
    ),
    "treatments": Case(
        edit={},
        new={
            "kind": "feed",
            "what": "Seaweed feed",
            "rate": "as on its label",
            "begun": "2026-11-20 08:30",
            "benches": "Mist bench 2",
            "stock_plants": "S-0001",
            "by": "Tomas Quill",
        },
        wrong={"kind": "feed", "what": "Seaweed feed", "begun": "2026-11-20", "benches": "A"},
        wrong_column="begun",
    ),
    "stock-plant-days": Case(
        edit={},
        new={
            "stock_plant": "S-0001",
            "kind": "tested",
            "happened_on": "2026-11-20",
            "by": "Tomas Quill",
            "about": "crown gall",
            "result": "good",
            "until_on": "2027-11-20",
            "note": "leaf and stem",
        },
        wrong={
            "stock_plant": "S-0001",
            "kind": "cut back",
            "happened_on": "2026-11-20",
            "until_on": "2027-11-20",
        },
        wrong_column="until_on",
    ),
    "liner-stages": Case(
        edit={},
        new={
            "stage": "lost",
            "reached_on": "2026-11-25",
            "liner_lot": "L-0001",
            "number": "1",
            "cause": "grey mould",
            "by": "Tomas Quill",
            "note": "by the door",
        },
        wrong={
            "stage": "lost",
            "reached_on": "2026-11-25",
            "liner_lot": "L-0001",
            "number": "1",
        },
        wrong_column="cause",
    ),
    "dispatches": Case(
        edit={},
        new={
            "sent_on": "2026-11-25",
            "to_whom": "Wetherby and Daughters",
            "reference": "4712",
            "lines": "L-0002 1",
            "note": "collected",
        },
        wrong={"sent_on": "2026-11-25", "to_whom": "Wetherby and Daughters", "lines": "L-0002"},
        wrong_column="lines",
    ),
    "method-cards": Case(
        edit={"material": "soft tips", "months": "March to May, August", "cover": "fog"},
        new={
            "genus": "Weigela",
            "cutting_type": "hardwood",
            "cut": "nodal",
            "months": "November to January",
            "weeks_low": "10",
            "weeks_high": "14.5",
            "hormone_substance": "IBA",
            "hormone_ppm_low": "2500",
            "note": "two\nlines",
        },
        wrong={"genus": "Weigela", "cutting_type": "hardwood", "weeks_low": "9", "weeks_high": "4"},
        wrong_column="weeks_low",
    ),
    "orders": Case(
        edit={"plants": "222", "for_whom": "a garden"},
        new={"plant": "Hebe", "plants": "50", "due_on": "2027-05-14"},
        wrong={"plant": "Hebe", "plants": "50", "due_on": "14 may"},
        wrong_column="due_on",
    ),
}
