"""Templates show; they do not reckon, ask the database or reach out."""

import re
from pathlib import Path

from jinja2 import Environment, nodes
from jinja2.ext import do

from tests.rules.sources import ROOT, files, listed, shown

TEMPLATES = ROOT / "app" / "web" / "templates"
STATIC = "app/web/static"
ARITHMETIC = (nodes.Add, nodes.Sub, nodes.Mul, nodes.Div, nodes.FloorDiv, nodes.Mod, nodes.Pow)
RECKONING_FILTERS = {"sum", "random"}
DATABASE_NAMES = {"database", "db", "select", "session"}
DATABASE_CALLS = {"execute", "query", "scalar", "scalars"}
WRITTEN_RULES = {
    "no style attribute": re.compile(r"\bstyle\s*=", re.IGNORECASE),
    "no style element": re.compile(r"<style\b", re.IGNORECASE),
    "no script in the page": re.compile(r"<script\b(?![^>]*\bsrc=)", re.IGNORECASE),
    "no handler attribute": re.compile(r"\son[a-z]+\s*=", re.IGNORECASE),
    "nothing passed by as safe": re.compile(r"\|\s*safe\b|autoescape\s+false"),
    "no other host": re.compile(r"(?:https?:)?//[a-z0-9-]+\.[a-z]", re.IGNORECASE),
    "no address of a script": re.compile(r"javascript:", re.IGNORECASE),
}
LARGEST = {".js": 15_000, ".css": 20_000}


def _templates() -> list[tuple[Path, nodes.Template]]:
    environment = Environment(extensions=[do], autoescape=True)
    paths = files("app/web/templates", suffix=".html")
    return [(path, environment.parse(path.read_text(encoding="utf-8"))) for path in paths]


def test_the_written_rules_find_what_they_are_for() -> None:
    for bad, rule in {
        '<p style="x">': "no style attribute",
        "<script>x()</script>": "no script in the page",
        '<a onclick="x">': "no handler attribute",
        "{{ x |safe }}": "nothing passed by as safe",
        '<img src="https://a.org/x.png">': "no other host",
    }.items():
        assert WRITTEN_RULES[rule].search(bad), rule
    fine = '<script src="/static/a.js" defer></script><p class="stylish">on = off {{ x|e }}</p>'
    broken = [rule for rule, pattern in WRITTEN_RULES.items() if pattern.search(fine)]
    assert broken == []


def test_templates_keep_to_the_written_rules() -> None:
    places = [
        f"{shown(path, number)} {rule}"
        for path in files("app/web/templates", suffix=".html")
        for number, line in enumerate(path.read_text(encoding="utf-8").splitlines(), start=1)
        for rule, pattern in WRITTEN_RULES.items()
        if pattern.search(line)
    ]
    assert not places, listed("Templates that break a rule:", places)


def test_templates_do_not_reckon() -> None:
    places = [
        f"{shown(path, node.lineno)} {type(node).__name__}"
        for path, tree in _templates()
        for node in tree.find_all((*ARITHMETIC, nodes.Filter))
        if not isinstance(node, nodes.Filter) or node.name in RECKONING_FILTERS
    ]
    assert not places, listed("Reckon this in Python and hand it to the template:", places)


def test_templates_do_not_ask_the_database() -> None:
    places = [
        shown(path, node.lineno)
        for path, tree in _templates()
        for node in tree.find_all((nodes.Name, nodes.Getattr))
        if (node.name in DATABASE_NAMES if isinstance(node, nodes.Name) else _asks(node))
    ]
    assert not places, listed("Read this before the page is rendered:", places)


def _asks(node: nodes.Node) -> bool:
    return isinstance(node, nodes.Getattr) and node.attr in DATABASE_CALLS


def test_macros_stand_in_their_folder() -> None:
    places = [
        f"{shown(path, macro.lineno)} {macro.name}"
        for path, tree in _templates()
        if path.parent.name != "macros"
        for macro in tree.find_all(nodes.Macro)
    ]
    assert not places, listed("Move these into app/web/templates/macros:", places)


def test_there_is_one_base() -> None:
    loose = []
    for path, tree in _templates():
        page = path.parent.name != "macros" and not path.name.startswith("_")
        if not page or path == TEMPLATES / "base.html":
            continue
        bases = [ast.template for ast in tree.find_all(nodes.Extends)]
        if [base.value for base in bases if isinstance(base, nodes.Const)] != ["base.html"]:
            loose.append(shown(path))
    assert not loose, listed(
        'Begin these with {% extends "base.html" %}, or name them _x.html:', loose
    )


def test_what_is_included_is_named_as_a_part() -> None:
    places = [
        f"{shown(path, include.lineno)} {include.template.value}"
        for path, tree in _templates()
        for include in tree.find_all(nodes.Include)
        if isinstance(include.template, nodes.Const)
        and not Path(str(include.template.value)).name.startswith("_")
    ]
    assert not places, listed("An included template is called _x.html:", places)


def test_scripts_and_styles_ask_no_other_host() -> None:
    outside = re.compile(r"(?:https?:)?//(?!www\.w3\.org/)[a-z0-9-]+\.[a-z]+/", re.IGNORECASE)
    places = [
        shown(path, number)
        for suffix in LARGEST
        for path in files(STATIC, suffix=suffix)
        for number, line in enumerate(path.read_text(encoding="utf-8").splitlines(), start=1)
        if outside.search(line)
    ]
    assert not places, listed("Bundle this:", places)


def test_scripts_and_styles_stay_small() -> None:
    large = [
        f"{path.name} {size} bytes of {most}"
        for suffix, most in LARGEST.items()
        for path in files(STATIC, suffix=suffix)
        if (size := path.stat().st_size) > most
    ]
    assert not large, listed("A phone by the bench has to load this:", large)
