"""The rooms import only lower rooms, and nothing heavy loads before it is used."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

PACKAGE = Path(__file__).parents[2] / "src" / "gaugewright"

ORDER = (
    ("errors",),
    ("quantities",),
    ("physics",),
    ("engine", "job"),
    ("recording",),
    ("sensing",),
    ("rotation",),
    ("evidence",),
    ("causes",),
    ("analysis",),
    ("report",),
    ("examples",),
    ("store",),
    ("live", "archive"),
    ("web",),
    ("cli",),
)
RANK = {room: rank for rank, rooms in enumerate(ORDER) for room in rooms}
TO_ITSELF = ("quantities", "physics")
"""Rooms that know nothing of the rest: errors, quantities and physics at most."""

HEAVY = {
    "fastapi", "fsspec", "jinja2", "matplotlib", "numpy", "pandas", "pint", "platformdirs",
    "polars", "psycopg", "pyarrow", "pydantic", "rich", "scipy", "sqlalchemy", "starlette",
    "tomlkit", "typst", "uvicorn",
}  # fmt: skip
LIGHT_ROOMS = ("cli", "errors")
LATE = {"matplotlib", "pandas", "pint", "psycopg", "pyarrow", "rich", "typst", "scipy.stats"}
"""Never at the top of any module but one that itself loads late."""


def modules() -> Iterator[tuple[Path, ast.Module]]:
    for path in sorted(PACKAGE.rglob("*.py")):
        yield path, ast.parse(path.read_text(encoding="utf-8"))


def room_of(path: Path) -> str:
    inside = path.relative_to(PACKAGE)
    return inside.parts[0] if len(inside.parts) > 1 else inside.stem


def imported(node: ast.AST) -> Iterator[str]:
    """Every module name that an import statement in this tree names."""
    for part in ast.walk(node):
        if isinstance(part, ast.Import):
            yield from (name.name for name in part.names)
        elif isinstance(part, ast.ImportFrom):
            assert part.level == 0, "imports are written out in full"
            yield from (f"{part.module}.{name.name}" for name in part.names)


def at_the_top(tree: ast.Module) -> Iterator[str]:
    """The modules imported as this one loads: not in functions, not for type checking."""
    for node in tree.body:
        if isinstance(node, ast.Import | ast.ImportFrom | ast.Try):
            yield from imported(node)


def wrong_imports(room: str, tree: ast.AST) -> list[str]:
    """The imports of this module that reach a room which is not a lower one."""
    others = [name.split(".")[1] for name in imported(tree) if name.startswith("gaugewright.")]
    rooms = {other for other in others if other in RANK and other != room}
    allowed = {"errors", *TO_ITSELF} if room in TO_ITSELF else RANK
    return sorted(o for o in rooms if RANK[o] >= RANK[room] or o not in allowed)


@pytest.mark.parametrize(("path", "tree"), list(modules()), ids=lambda x: getattr(x, "stem", ""))
def test_a_room_imports_only_lower_rooms(path: Path, tree: ast.Module) -> None:
    room = room_of(path)
    if room in ("__init__", "__main__"):
        return
    assert room in RANK, f"{room} has no place in the order of the rooms"
    assert wrong_imports(room, tree) == []


def test_the_order_can_fail() -> None:
    assert wrong_imports("evidence", ast.parse("from gaugewright.report import words")) == [
        "report"
    ]
    assert wrong_imports("physics", ast.parse("def f():\n import gaugewright.job.model")) == ["job"]
    assert wrong_imports("report", ast.parse("from gaugewright.evidence import results")) == []


def test_package_files_import_nothing_heavy() -> None:
    light = {"__future__", "collections", "typing", "gaugewright"}
    for path in PACKAGE.rglob("__init__.py"):
        names = at_the_top(ast.parse(path.read_text(encoding="utf-8")))
        assert {name.split(".")[0] for name in names} <= light, path


def test_the_commands_import_nothing_heavy_at_the_top() -> None:
    for path, tree in modules():
        if room_of(path) in LIGHT_ROOMS:
            roots = {name.split(".")[0] for name in at_the_top(tree)}
            assert not roots & HEAVY, path


def test_slow_libraries_are_imported_late() -> None:
    for path, tree in modules():
        names = set(at_the_top(tree))
        found = {late for late in LATE for name in names if f"{name}.".startswith(f"{late}.")}
        assert not found, f"{path} imports {found} as it loads"
