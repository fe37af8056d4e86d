"""Habits of the code that no linter of ours checks."""

import ast
import re

from tests.rules.sources import ROOT, files, functions, listed, modules, shown

CLOCK_CALLS = {
    "date.today",
    "datetime.date.today",
    "datetime.datetime.now",
    "datetime.datetime.utcnow",
    "datetime.now",
    "datetime.utcnow",
    "time.time",
}
KEYWORD_LAYERS = ("app/stats", "app/domain", "app/formats", "app/store", "app/services")
READS_AS_A_SENTENCE = {"allowed"}  # allowed(role, permission): the order is plain
RECORD_LAYERS = (*KEYWORD_LAYERS, "app/cli", "seed_demo")


def _called(node: ast.Call) -> str:
    return ast.unparse(node.func)


def test_only_the_clock_reads_the_clock() -> None:
    places = [
        shown(path, node.lineno)
        for path, tree in modules("app", "seed_demo")
        if path != ROOT / "app" / "clock.py"
        for node in ast.walk(tree)
        if isinstance(node, ast.Call) and _called(node) in CLOCK_CALLS
    ]
    assert not places, listed(
        "Take today or now as an argument; only app/clock.py reads it:", places
    )


def test_there_is_one_commit() -> None:
    places = [
        shown(path, node.lineno)
        for path, tree in modules("app", "seed_demo")
        for node in ast.walk(tree)
        if isinstance(node, ast.Call) and _called(node).endswith(".commit")
    ]
    assert [place.partition(":")[0] for place in places] == ["app/store/session.py"], listed(
        "Only commit() of app/store/session.py commits:", places
    )


def test_services_do_not_end_transactions() -> None:
    ends = re.compile(r"\b(commit|rollback|begin)\(")
    places = [
        shown(path, number)
        for path in files("app/services", suffix=".py")
        for number, line in enumerate(path.read_text(encoding="utf-8").splitlines(), start=1)
        if ends.search(line)
    ]
    assert not places, listed("A service leaves the transaction to its caller:", places)


def test_what_is_public_says_what_it_is() -> None:
    silent = []
    for path, tree in modules("app", "seed_demo", "migrations"):
        if not ast.get_docstring(tree):
            silent.append(f"{shown(path)} (the module)")
        if path.parent.name == "versions":
            continue
        silent += [
            f"{shown(path, node.lineno)} {node.name}"
            for node in _public(tree)
            if not ast.get_docstring(node)
        ]
    assert not silent, listed("Write a docstring for:", silent)


def _public(tree: ast.AST) -> list[ast.FunctionDef | ast.AsyncFunctionDef | ast.ClassDef]:
    found: list[ast.FunctionDef | ast.AsyncFunctionDef | ast.ClassDef] = []
    for node in ast.iter_child_nodes(tree):
        if not isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef | ast.ClassDef):
            continue
        if node.name.startswith("_") or "overload" in map(ast.unparse, node.decorator_list):
            continue
        found.append(node)
        if isinstance(node, ast.ClassDef):
            found += _public(node)
    return found


def test_arguments_after_the_first_are_named() -> None:
    loose = [
        f"{shown(path, node.lineno)} {node.name}"
        for path, tree in modules(*KEYWORD_LAYERS)
        for node in tree.body
        if isinstance(node, ast.FunctionDef) and not node.name.startswith("_")
        if node.name not in READS_AS_A_SENTENCE
        if len(node.args.posonlyargs) + len(node.args.args) > 1
    ]
    assert not loose, listed("Put a * after the first argument of:", loose)


def test_records_are_frozen_and_built_by_name() -> None:
    loose = []
    for path, tree in modules(*RECORD_LAYERS):
        for node in ast.walk(tree):
            if isinstance(node, ast.ClassDef):
                marks = [ast.unparse(mark) for mark in node.decorator_list]
                loose += [
                    f"{shown(path, node.lineno)} {node.name}"
                    for mark in marks
                    if mark.startswith("dataclass")
                    and not ("frozen=True" in mark and "kw_only=True" in mark)
                ]
    assert not loose, listed("Write @dataclass(frozen=True, kw_only=True) on:", loose)


def test_every_function_is_typed_in_full() -> None:
    # mypy covers app and seed_demo; this holds the tests to the same habit.
    bare = [
        f"{shown(path, node.lineno)} {node.name}"
        for path, tree in modules("tests")
        for node in functions(tree)
        if node.returns is None
    ]
    assert not bare, listed("Say what these return:", bare)
