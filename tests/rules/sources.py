"""The project's own files as the house rules read them."""

import ast
import fnmatch
from collections.abc import Iterator
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
FOLDERS = ("app", "migrations", "seed_demo", "tests")
TEXT = frozenset(
    {".cfg", ".css", ".csv", ".html", ".js", ".md", ".py", ".sh", ".svg", ".toml", ".txt", ""}
)


def ignored(name: str) -> bool:
    """Return whether git would not see a file or folder of this name."""
    lines = (ROOT / ".gitignore").read_text(encoding="utf-8").split()
    return name == ".git" or any(fnmatch.fnmatch(name, line.rstrip("/")) for line in lines)


def files(*folders: str, suffix: str | None = None) -> list[Path]:
    """Return the files below the folders (default: the whole project) in order of name."""
    starts = [ROOT / folder for folder in folders] if folders else [ROOT]
    found = [path for start in starts for path in _below(start)]
    return sorted(path for path in found if suffix is None or path.suffix == suffix)


def _below(folder: Path) -> Iterator[Path]:
    for path in folder.iterdir() if folder.is_dir() else ():
        if ignored(path.name):
            continue
        if path.is_dir():
            yield from _below(path)
        else:
            yield path


def text_files() -> list[Path]:
    """Return every file of the project that a person reads."""
    return [path for path in files() if path.suffix in TEXT]


def modules(*folders: str) -> list[tuple[Path, ast.Module]]:
    """Return each Python file below the folders with its syntax tree."""
    paths = files(*(folders or FOLDERS), suffix=".py")
    return [(path, ast.parse(path.read_text(encoding="utf-8"))) for path in paths]


def functions(tree: ast.AST) -> Iterator[ast.FunctionDef | ast.AsyncFunctionDef]:
    """Yield every function of a tree, at whatever depth."""
    for node in ast.walk(tree):
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
            yield node


def shown(path: Path, line: int | None = None) -> str:
    """Return the path as a person names it, with the line if there is one."""
    name = path.relative_to(ROOT).as_posix()
    return name if line is None else f"{name}:{line}"


def listed(rule: str, offences: list[str]) -> str:
    """Return the message of a broken rule: the rule, then each place on a line of its own."""
    return "\n".join([rule, *(f"  {offence}" for offence in offences)])
