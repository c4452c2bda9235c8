"""The order of the house: what lies at the top, who may import whom, how long a module may be, and words kept out."""

from __future__ import annotations

import ast
import re
import subprocess
from pathlib import Path

ROOT = Path(__file__).parents[1]
PACKAGE = ROOT / "selector"
ORDER = ("inputs", "physics", "money", "decide", "report", "cli", "__main__")
VISIBLE = {"README.md", "DEVELOPERS.md", "pyproject.toml", "selector", "catalogs", "tests", "scenarios"}
HIDDEN = {".ci", ".gitignore"}
MOST_LINES = 450

# modules that are longer, and why
LONGER = {
    "selector/inputs/site.py": "the data classes of all inputs, which are read together",
}
LONGEST = 490  # lines, of the exceptions

FORBIDDEN = re.compile(
    r"\b(se" r"ed|tal" r"k|iss" r"ue|sess" r"ion|to" r"do|fix" r"me)(s|ed|ing)?\b", re.IGNORECASE
)


def tracked() -> list[str]:
    done = subprocess.run(["git", "ls-files", "-z"], cwd=ROOT, capture_output=True, text=True, check=True)
    return [name for name in done.stdout.split("\0") if name and (ROOT / name).is_file()]


def imports_of(path: Path) -> set[str]:
    """Folders of the package that a module imports from, at its head or inside its functions."""
    found = set()
    for node in ast.walk(ast.parse(path.read_text("utf-8"))):
        if isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path}: a relative import"
            names = [f"{node.module}.{alias.name}" for alias in node.names]
        elif isinstance(node, ast.Import):
            names = [alias.name for alias in node.names]
        else:
            continue
        found |= {name.split(".")[1] for name in names if name.startswith("selector.")}
    return found


def test_folders_import_only_from_those_before_them() -> None:
    faults = []
    modules = sorted(PACKAGE.rglob("*.py"))
    assert len(modules) > 60
    for path in modules:
        here = path.relative_to(PACKAGE).parts[0].removesuffix(".py")
        if here == "__init__":
            assert not imports_of(path)
            continue
        allowed = set(ORDER[: ORDER.index(here) + 1])
        faults += [f"{path.relative_to(ROOT)} imports {name}" for name in sorted(imports_of(path) - allowed)]
    assert not faults


def test_what_is_visible_at_the_top_is_what_was_fixed() -> None:
    top = {name.split("/")[0] for name in tracked()}
    assert {name for name in top if not name.startswith(".")} <= VISIBLE
    assert {name for name in top if name.startswith(".")} == HIDDEN
    assert {path.name for path in PACKAGE.iterdir() if path.is_dir()} - {"__pycache__"} == set(ORDER) - {
        "cli",
        "__main__",
    }


def test_modules_are_short() -> None:
    lengths = {
        path.relative_to(ROOT).as_posix(): len(path.read_text("utf-8").splitlines())
        for folder in (PACKAGE, ROOT / "tests")
        for path in folder.rglob("*.py")
    }
    long = {name: lines for name, lines in lengths.items() if lines >= MOST_LINES}
    assert set(long) <= set(LONGER), long
    assert all(lines <= LONGEST for lines in long.values()), long


def test_no_forbidden_word_is_used() -> None:
    found = [
        f"{name}:{number}: {line.strip()}"
        for name in tracked()
        for number, line in enumerate(
            (ROOT / name).read_text("utf-8", errors="replace").splitlines(), start=1
        )
        if FORBIDDEN.search(line)
    ]
    assert not found
    assert not [name for name in tracked() if FORBIDDEN.search(name.replace("_", " "))]
