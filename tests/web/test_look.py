"""The style sheet, the script and the macros: sizes, contrast, and what they write."""

import re
from collections.abc import Iterator
from datetime import date
from pathlib import Path

import pytest
from flask import Flask, render_template_string
from flask_wtf import CSRFProtect, FlaskForm
from wtforms import BooleanField, RadioField, StringField

from app.web import look
from app.web.error_lines import error_lines
from app.web.look import fit_look
from tests.web.page_checks import page_faults

WEB = Path(look.__file__).parent
CSS = (WEB / "static" / "strikewell.css").read_text(encoding="utf-8")

AA_TEXT = 4.5  # WCAG 2.2, success criterion 1.4.3
AA_SHAPES = 3.0  # WCAG 2.2, success criterion 1.4.11
AAA_TEXT = 7.0  # WCAG 2.2, success criterion 1.4.6, asked of the scheme for sunlight

TEXT = [
    *((ink, ground) for ink in ("ink", "quiet", "moss", "terra") for ground in ("paper", "card")),
    *((ink, soft) for ink in ("ink", "quiet", "moss") for soft in ("moss-soft", "terra-soft")),
    ("ink", "wait-soft"),
    ("card", "moss"),
    ("card", "terra"),
    ("card", "ink"),
]
SHAPES = [
    *(
        (shape, ground)
        for shape in ("edge", "moss", "terra", "wait")
        for ground in ("paper", "card")
    ),
    ("wait", "wait-soft"),
    ("terra", "terra-soft"),
    ("edge", "wait-soft"),
    ("moss", "moss-soft"),
]


def luminance(colour: str) -> float:
    """WCAG 2.2, definition of relative luminance (w3.org/TR/WCAG22): CONFIRMED."""
    digits = colour.lstrip("#")
    pairs = [digit * 2 for digit in digits] if len(digits) == 3 else re.findall("..", digits)
    shares = [int(pair, 16) / 255 for pair in pairs]
    red, green, blue = (
        share / 12.92 if share <= 0.04045 else ((share + 0.055) / 1.055) ** 2.4 for share in shares
    )
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    """WCAG 2.2, definition of contrast ratio: (L1 + 0.05) / (L2 + 0.05): CONFIRMED."""
    lighter, darker = sorted((luminance(one), luminance(other)), reverse=True)
    return (lighter + 0.05) / (darker + 0.05)


def schemes() -> Iterator[tuple[str, dict[str, str]]]:
    """Every block of colours of the style sheet, named by what stands before it."""
    plain: dict[str, str] = {}
    for before, block in re.findall(r"([^{}]*(?:\{\s*)?:root[^{}]*)\{([^}]*--paper[^}]*)\}", CSS):
        colours = dict(re.findall(r"--([a-z-]+): (#[0-9a-f]{3,6});", block))
        plain = plain or colours
        yield " ".join(before.split())[-60:], plain | colours


def test_contrast_of_known_pairs() -> None:
    # 21:1 is the end of the scale by definition; 4.54 for #767676 is given by contrast checkers.
    assert contrast("#000", "#fff") == pytest.approx(21.0)
    assert contrast("#767676", "#ffffff") == pytest.approx(4.54, abs=0.005)


def test_there_are_schemes_for_light_dark_contrast_sunlight_and_print() -> None:
    names = [name for name, _ in schemes()]
    assert len(names) == 5
    for place, word in enumerate((":root", "dark", "contrast", ":root.sunlight", "print")):
        assert word in names[place]


@pytest.mark.parametrize(("name", "colours"), list(schemes()))
def test_palette_meets_contrast(name: str, colours: dict[str, str]) -> None:
    wanted = AAA_TEXT if "sunlight" in name or "contrast" in name else AA_TEXT
    for ink, ground in TEXT:
        assert contrast(colours[ink], colours[ground]) >= wanted, (name, ink, ground)
    for shape, ground in SHAPES:
        assert contrast(colours[shape], colours[ground]) >= AA_SHAPES, (name, shape, ground)


def test_colours_stand_only_in_the_schemes() -> None:
    without = re.sub(r":root[^{}]*\{[^}]*\}", "", CSS)
    # White behind pictures where the system chooses the colours; black on white on paper.
    assert set(re.findall(r"#[0-9a-f]{3,6}\b", without)) <= {"#fff", "#000"}


def test_fonts_of_the_style_sheet_are_there_with_their_licence() -> None:
    fonts = WEB / "static" / "fonts"
    named = re.findall(r'url\("fonts/([^"]+)"\)', CSS)
    assert sorted(named) == sorted(path.name for path in fonts.glob("*.woff2"))
    assert len(named) == 8
    assert "SIL OPEN FONT LICENSE Version 1.1" in (fonts / "OFL.txt").read_text(encoding="utf-8")


class SomeForm(FlaskForm):
    plant = StringField("Plant", description="A few letters are enough.")
    kind = RadioField("Kind", choices=["counted", "sample"])
    halved = BooleanField("Leaves halved")
    rooted = StringField("Newly rooted")


@pytest.fixture
def bare() -> Flask:
    """An app with the look and nothing behind it."""
    app = Flask("app.web", root_path=str(WEB))
    app.secret_key = "for this test"
    CSRFProtect(app)
    fit_look(app)
    return app


FORM_PAGE = """{% extends "base.html" %}
{% from "macros/fields.html" import buttons, choice, count, field, fold, hidden, summary %}
{% block heading %}Check {{ code }}{% endblock %}
{% block content %}<form method="post" novalidate>{{ hidden(form) }}{{ summary(form) }}
{{ field(form.plant, data_suggest="/plants/suggest") }}{{ field(form.kind) }}
{% call fold("More") %}{{ field(form.halved) }}{% endcall %}
{{ count(form.rooted) }}{{ buttons("Save and next", cancel="/") }}</form>{% endblock %}"""


def form_page(bare: Flask, **errors: list[str]) -> str:
    with bare.test_request_context("/checks/new"):
        form = SomeForm()
        for name, sentences in errors.items():
            form[name].errors = sentences
        if "whole" in errors:
            form.form_errors = errors["whole"]
        return render_template_string(FORM_PAGE, form=form, code="26-0147")


def test_a_form_page_is_sound(bare: Flask) -> None:
    page = form_page(bare)
    assert page_faults(page) == []
    assert "<title>Check 26-0147 | Strikewell</title>" in page
    assert 'aria-describedby="plant-hint"' in page
    assert 'data-suggest="/plants/suggest"' in page
    assert "aria-invalid" not in page


def test_errors_stand_on_top_by_their_field_and_in_the_title(bare: Flask) -> None:
    page = form_page(bare, plant=["Choose a plant."], kind=["Say which kind."])
    assert page_faults(page) == []
    assert "<title>Error: Check 26-0147" in page
    assert '<a href="#plant">Choose a plant.</a>' in page
    assert '<a href="#kind-0">Say which kind.</a>' in page
    assert 'aria-describedby="plant-hint plant-error"' in page
    assert page.count('aria-invalid="true"') == 1
    assert page.count("Choose a plant.") == 2


def test_one_sentence_about_two_fields_names_each_on_top(bare: Flask) -> None:
    page = form_page(bare, plant=["Give a number."], rooted=["Give a number."])
    assert re.findall(r'<a href="#\w+">([^<]*Give a number\.)</a>', page) == [
        "Plant: Give a number.",
        "Newly rooted: Give a number.",
    ]


def test_an_error_of_the_whole_form_is_said_without_a_link(bare: Flask) -> None:
    with bare.test_request_context("/"):
        form = SomeForm()
        form.form_errors = ["This page had been open too long."]
        form.csrf_token.errors = ["The token is missing."]
        lines = error_lines(form)
    assert [line.target for line in lines] == ["", ""]


def test_static_addresses_change_with_the_content(bare: Flask) -> None:
    with bare.test_request_context("/"):
        page = render_template_string('{{ url_for("static", filename="strikewell.css") }}')
    assert re.fullmatch(r"/static/strikewell\.css\?v=[0-9a-f]{12}", page)
    with bare.test_client().get(page) as answer:
        assert answer.cache_control.max_age == look.ONE_YEAR


PARTS = """{% from "macros/names.html" import code_label, plant_name %}
{% from "macros/days.html" import day, due %}
{{ plant_name(name) }} {{ code_label("26-0147", "/batches/26-0147", late=true) }}
{{ day(on) }} {{ day(on, today) }} {{ due(on, today, late=true) }} {{ day(none) }}"""


def test_names_codes_and_days(bare: Flask) -> None:
    name = [{"text": "Hebe", "italic": True}, {"text": " ‘Great <b>’", "italic": False}]
    with bare.test_request_context("/"):
        page = render_template_string(
            PARTS, name=name, on=date(2026, 11, 21), today=date(2026, 11, 24)
        )
    assert '<span class="name"><i>Hebe</i> ‘Great &lt;b&gt;’</span>' in page
    assert '<a class="label late" href="/batches/26-0147"><span>26-0147</span></a>' in page
    assert '<time datetime="2026-11-21">Sat 21 November 2026</time>' in page
    assert '<time datetime="2026-11-21">Sat 21 Nov</time>' in page
    assert "<b>3 days late</b>" in page
    assert "not recorded" in page
