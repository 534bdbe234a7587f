"""The rooms keep their order, files and functions stay small, and every source that is named exists."""

from __future__ import annotations

import ast
import re
from pathlib import Path

import pytest

from dampkit.sources import SOURCES

PACKAGE = Path(__file__).parent.parent / "dampkit"
ROOMS = ("bench", "curves", "damper", "expected", "faults", "needs", "outcome", "report", "store")
ENDS = ("app", "guide", "studies", "virtual")  # look everywhere; no other room looks at them
FILES = sorted(PACKAGE.rglob("*.py"))
LONGEST_FILE, LONGEST_FUNCTION, DEEPEST = 350, 50, 3


def imported(tree: ast.AST) -> set[str]:
    """Every dampkit module that a file names, however it is imported."""
    names: set[str] = set()
    for node in ast.walk(tree):
        if isinstance(node, ast.ImportFrom) and node.module:
            names.add(node.module)
            names |= {f"{node.module}.{alias.name}" for alias in node.names}
        if isinstance(node, ast.Import):
            names |= {alias.name for alias in node.names}
    return {name for name in names if name.startswith("dampkit")}


def test_rooms_are_alphabetical() -> None:
    assert list(ROOMS) == sorted(ROOMS)
    assert {d.name for d in PACKAGE.iterdir() if d.is_dir() and any(d.glob("*.py"))} == {*ROOMS, *ENDS}


@pytest.mark.parametrize("room", ROOMS)
def test_a_room_imports_only_what_flows_into_it(room: str) -> None:
    later = (*ROOMS[ROOMS.index(room) + 1 :], *ENDS)
    wrong = {
        (file.name, name)
        for file in (PACKAGE / room).rglob("*.py")
        for name in imported(ast.parse(file.read_text()))
        for other in later
        if name == f"dampkit.{other}" or name.startswith(f"dampkit.{other}.")
    }
    assert not wrong


def test_no_room_and_no_root_file_looks_at_an_end() -> None:
    inside = [f for f in FILES if f.relative_to(PACKAGE).parts[0] not in (*ENDS, "__main__.py")]
    ends = tuple(f"dampkit.{end}" for end in ENDS)
    wrong = {(f.name, name) for f in inside for name in imported(ast.parse(f.read_text())) if name.startswith(ends)}
    assert not wrong


@pytest.mark.parametrize("file", FILES, ids=lambda f: str(f.relative_to(PACKAGE)))
def test_files_and_functions_stay_small(file: Path) -> None:
    text = file.read_text()
    assert len(text.splitlines()) <= LONGEST_FILE
    for node in ast.walk(ast.parse(text)):
        if isinstance(node, ast.FunctionDef):
            body = node.body[1:] if ast.get_docstring(node) else node.body
            length = (body[-1].end_lineno or 0) - body[0].lineno + 1 if body else 0
            assert length <= LONGEST_FUNCTION, node.name
            assert nesting(node) <= DEEPEST, node.name


def nesting(node: ast.AST, depth: int = 0) -> int:
    deeper = (ast.If, ast.For, ast.While, ast.With, ast.Try)
    depths = [depth]
    for child in ast.iter_child_nodes(node):
        chained = isinstance(node, ast.If) and isinstance(child, ast.If) and node.orelse == [child]
        depths.append(nesting(child, depth + (isinstance(child, deeper) and not chained)))
    return max(depths)


@pytest.mark.parametrize("file", FILES, ids=lambda f: str(f.relative_to(PACKAGE)))
def test_every_source_named_exists(file: Path) -> None:
    for node in ast.walk(ast.parse(file.read_text())):
        if isinstance(node, ast.Module | ast.ClassDef | ast.FunctionDef):
            text = ast.get_docstring(node) or ""
            named = set(re.findall(r"\[([a-z]+_?[a-z]*\d{2,}[a-z]*)\]", text))
            assert named <= set(SOURCES), named - set(SOURCES)
