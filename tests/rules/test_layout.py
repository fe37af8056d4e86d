"""Where files stand, how long they are, and what they are called."""

import ast
import re

from tests.rules.sources import ROOT, files, functions, ignored, listed, modules, shown

TOP_LEVEL = {
    "README.md",
    "DEVELOPERS.md",
    "pyproject.toml",
    "app",
    "migrations",
    "tests",
    "seed_demo",
    "docs",
}
EMPTY_WORDS = {
    "common",
    "core",
    "helper",
    "helpers",
    "manager",
    "managers",
    "misc",
    "util",
    "utils",
}
LONGEST_MODULE = 400
LONGEST_FUNCTION = 39
FUNCTIONS = (ast.FunctionDef, ast.AsyncFunctionDef)


def test_top_level_holds_only_what_the_layout_names() -> None:
    strays = sorted(
        path.name
        for path in ROOT.iterdir()
        if path.name not in TOP_LEVEL and not path.name.startswith(".") and not ignored(path.name)
    )
    assert not strays, listed("Move these out of the top level:", strays)


def test_modules_stay_short() -> None:
    long = [
        f"{shown(path)} has {count} lines"
        for path in files(suffix=".py")
        if (count := len(path.read_text(encoding="utf-8").splitlines())) > LONGEST_MODULE
    ]
    assert not long, listed(f"A module has at most {LONGEST_MODULE} lines; split:", long)


def test_functions_stay_short() -> None:
    # A revision is one list of schema statements; cutting it up would not make it clearer.
    long = [
        f"{shown(path, node.lineno)} {node.name} has {count} lines"
        for path, tree in modules()
        if path.parent.name != "versions"
        for node in functions(tree)
        if (count := _own_lines(node)) > LONGEST_FUNCTION
    ]
    assert not long, listed("A function has under 40 lines; split:", long)


def _own_lines(function: ast.FunctionDef | ast.AsyncFunctionDef) -> int:
    """Return the lines of a function without those of the functions inside it."""
    inner = [node for node in ast.iter_child_nodes(function) if isinstance(node, FUNCTIONS)]
    return _lines(function) - sum(_lines(node) for node in inner)


def _lines(node: ast.FunctionDef | ast.AsyncFunctionDef) -> int:
    return (node.end_lineno or node.lineno) - node.lineno + 1


def test_names_say_what_is_inside() -> None:
    empty = [
        shown(path)
        for path in files("app", "seed_demo", suffix=".py")
        if EMPTY_WORDS & set(re.split(r"[_.]", path.name))
    ]
    assert not empty, listed("Name these after what they hold:", empty)


def test_tests_of_the_core_are_named_after_what_they_test() -> None:
    wrong = []
    for layer in ("stats", "domain", "formats", "services", "store"):
        names = {path.stem for path in files(f"app/{layer}", suffix=".py")}
        wrong += [
            shown(path)
            for path in files(f"tests/{layer}", suffix=".py")
            if path.name.startswith("test_")
            and not _mirrors(path.stem.removeprefix("test_"), names)
        ]
    assert not wrong, listed("Name these test_<module>.py or test_<module>_<what>.py:", wrong)


def _mirrors(name: str, modules_of_layer: set[str]) -> bool:
    return any(name == module or name.startswith(f"{module}_") for module in modules_of_layer)


def test_pages_forms_and_templates_use_one_noun() -> None:
    pages = {path.stem for path in files("app/web/pages", suffix=".py")}
    places = {path.stem for path in files("app/web/forms", suffix=".py")} - {"__init__", "base"}
    templates = ROOT / "app" / "web" / "templates"
    places |= {path.name for path in templates.iterdir() if path.is_dir()} - {"macros", "problems"}
    strangers = sorted(places - pages)
    assert not strangers, listed("No module in app/web/pages is called:", strangers)
