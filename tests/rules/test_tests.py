"""The tests themselves: each looks at something, and none is put aside."""

import ast

from tests.rules.sources import files, functions, listed, modules, shown

ASIDE = {"skip", "skipif", "xfail", "importorskip"}


def _looks(tree: ast.AST) -> bool:
    return any(
        isinstance(node, ast.Assert)
        or (isinstance(node, ast.Attribute) and ast.unparse(node) == "pytest.raises")
        # What the browser's driver offers to look at a page with.
        or (isinstance(node, ast.Call) and ast.unparse(node.func) == "expect")
        for node in ast.walk(tree)
    )


def test_every_test_module_asserts() -> None:
    idle = [
        shown(path)
        for path, tree in modules("tests")
        if path.name.startswith("test_") and not _looks(tree)
    ]
    assert not idle, listed("These would pass whatever the code did:", idle)


def test_every_test_can_fail() -> None:
    # A test may leave its looking to a function of its own module that asserts.
    idle = []
    for path, tree in modules("tests"):
        looking = {node.name for node in functions(tree) if _looks(node)}
        idle += [
            f"{shown(path, node.lineno)} {node.name}"
            for node in functions(tree)
            if node.name.startswith("test_") and not _looks(node) and not looking & _names(node)
            if not _imports_a_check(tree, node)
        ]
    assert not idle, listed("These tests assert nothing:", idle)


def _names(tree: ast.AST) -> set[str]:
    return {node.id for node in ast.walk(tree) if isinstance(node, ast.Name)}


def _imports_a_check(tree: ast.Module, node: ast.AST) -> bool:
    brought = {
        alias.asname or alias.name
        for statement in tree.body
        if isinstance(statement, ast.ImportFrom) and (statement.module or "").startswith("tests")
        for alias in statement.names
    }
    return any(name.startswith(("check_", "assert_")) for name in brought & _names(node))


def test_no_test_is_put_aside() -> None:
    aside = [
        f"{shown(path, node.lineno)} {node.attr}"
        for path, tree in modules("tests")
        for node in ast.walk(tree)
        if isinstance(node, ast.Attribute) and node.attr in ASIDE
        if ast.unparse(node.value) in {"pytest", "pytest.mark", "unittest"}
    ]
    assert not aside, listed("Mend these tests or take them out:", aside)


def test_test_folders_are_packages() -> None:
    # Two test modules of one name in different folders need it.
    folders = {path.parent for path in files("tests", suffix=".py")}
    bare = sorted(shown(folder) for folder in folders if not (folder / "__init__.py").is_file())
    assert not bare, listed("Add an __init__.py to:", bare)
