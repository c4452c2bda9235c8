"""Every public function says what it does, what each argument is and in which unit, and what it returns.

Read from the source, without importing it. An argument counts as documented where the function's docstring names it,
or where it names another function ("as `treat_stream`") or class whose own documentation names it. A number's unit
counts as said where it follows the name, in brackets as "[kg/s]" or in words; where
the head of the module names the units that all its functions use; or where what it refers to says it.
"""

from __future__ import annotations

import ast
import re
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import typer.main

from selector.cli import app

PACKAGE = Path(__file__).parents[1] / "selector"
NUMBERS = re.compile(r"\b(float|FloatArray)\b")
UNIT_IN_BRACKETS = re.compile(r"\[[^\]]+\]")
UNIT_WORDS = re.compile(
    r"°C|kg/kg|\bSI\b|\bPa\b|\bW\b|kg/s|\bK\b|m³/s|m²|\bhours?\b|0 to 1|\bcurrency\b|\byears?\b"
    r"|\bshares?\b|\bfractions?\b|\bratios?\b|\bmultiples?\b|\bnumber\b|\bcoefficients?\b|degrees|seconds"
)
UNITS_OF_MODULE = re.compile(r"Units?:|°C|kg/kg|\bSI\b")
REFERENCE = re.compile(r"`([A-Za-z_]+)`")


@dataclass(frozen=True)
class Documented:
    """What a reader is told about one function."""

    place: str
    arguments: tuple[tuple[str, str], ...]  # name, annotation
    returns: str
    text: str
    module_text: str


def _sources() -> list[tuple[Path, ast.Module]]:
    return [(path, ast.parse(path.read_text("utf-8"))) for path in sorted(PACKAGE.rglob("*.py"))]


def _is_command(node: ast.FunctionDef) -> bool:
    return any("app.command" in ast.unparse(one) for one in node.decorator_list)


def _functions(path: Path, tree: ast.Module) -> list[Documented]:
    found = []
    module = ast.get_docstring(tree) or ""
    holders: list[ast.Module | ast.ClassDef] = [
        tree,
        *(one for one in tree.body if isinstance(one, ast.ClassDef)),
    ]
    for holder in holders:
        if isinstance(holder, ast.ClassDef) and holder.name.startswith("_"):
            continue
        for node in holder.body:
            if not isinstance(node, ast.FunctionDef) or node.name.startswith("_") or _is_command(node):
                continue
            every = [*node.args.posonlyargs, *node.args.args, *node.args.kwonlyargs]
            arguments = tuple(
                (one.arg, ast.unparse(one.annotation) if one.annotation else "")
                for one in every
                if one.arg not in ("self", "cls")
            )
            returns = ast.unparse(node.returns) if node.returns else ""
            name = node.name if isinstance(holder, ast.Module) else f"{holder.name}.{node.name}"
            place = f"{path.relative_to(PACKAGE.parent).as_posix()}:{node.lineno} {name}"
            found.append(Documented(place, arguments, returns, ast.get_docstring(node) or "", module))
    return found


def _texts() -> dict[str, list[str]]:
    """Docstring of each function, and source of each class, by name."""
    texts: dict[str, list[str]] = {}
    for path, tree in _sources():
        source = path.read_text("utf-8")
        for node in tree.body:
            if isinstance(node, ast.FunctionDef):
                texts.setdefault(node.name, []).append(ast.get_docstring(node) or "")
            elif isinstance(node, ast.ClassDef):
                texts.setdefault(node.name, []).append(ast.get_source_segment(source, node) or "")
    return texts


def _told(text: str, texts: dict[str, list[str]]) -> str:
    """A docstring with those that it refers to, and those that they refer to."""
    told, names, seen = text, REFERENCE.findall(text), set[str]()
    while names:
        name = names.pop()
        if name in seen:
            continue
        seen.add(name)
        for one in texts.get(name, ()):
            told += "\n" + one
            names += REFERENCE.findall(one)
    return told


def _names(argument: str) -> re.Pattern[str]:
    """An argument as it is written, in plain words, or without the number that tells it from its twin."""
    ways = {argument, argument.replace("_", " "), re.sub(r"_[12]$", "", argument).replace("_", " ")}
    ways |= {"dry and wet bulb"} if argument in ("dry_bulb", "wet_bulb") else set()
    return re.compile(
        rf"\b({'|'.join(map(re.escape, sorted(ways, key=len, reverse=True)))})\b", re.IGNORECASE
    )


def _unit_is_said(name: str, told: str, module: str) -> bool:
    """Whether a unit follows the argument's name before the sentence is over, or the module's head names it."""
    for found in _names(name).finditer(told):
        rest = re.split(r";|\n\n|\. |Returns:|Raises:", told[found.end() : found.end() + 300])[0]
        if UNIT_IN_BRACKETS.search(rest) or UNIT_WORDS.search(rest):
            return True
    return bool(UNITS_OF_MODULE.search(module))


def test_every_public_function_is_documented() -> None:
    texts = _texts()
    faults = []
    functions = [one for path, tree in _sources() for one in _functions(path, tree)]
    assert len(functions) > 200  # the walk found the package
    for one in functions:
        lines = one.text.splitlines()
        if not lines or not lines[0].strip():
            faults.append(f"{one.place}: no docstring")
            continue
        if len(lines) > 1 and lines[1].strip() and lines[1].lstrip().startswith(("Args:", "Returns:")):
            faults.append(f"{one.place}: no empty line after the first sentence")
        told = _told(one.text, texts)
        for name, _ in one.arguments:
            if not _names(name).search(told):
                faults.append(f"{one.place}: argument {name} is not documented")
        faults += [
            f"{one.place}: no unit for {name}"
            for name, annotation in one.arguments
            if NUMBERS.search(annotation) and not _unit_is_said(name, told, one.module_text)
        ]
        if one.returns not in ("", "None", "Never") and not re.search(
            r"\b[Rr]eturns?\b|Whether|True|as `", told
        ):
            faults.append(f"{one.place}: what it returns is not documented")
    assert not faults, "\n" + "\n".join(faults)


def test_every_public_class_and_module_says_what_it_is() -> None:
    faults = []
    for path, tree in _sources():
        if not ast.get_docstring(tree):
            faults.append(f"{path}: no docstring")
        faults += [
            f"{path}:{node.lineno} {node.name}: no docstring"
            for node in tree.body
            if isinstance(node, ast.ClassDef)
            and not node.name.startswith("_")
            and not ast.get_docstring(node)
        ]
    assert not faults, "\n" + "\n".join(faults)


def test_every_option_of_every_command_has_its_help() -> None:
    group: Any = typer.main.get_command(app)
    shown = {name: one for name, one in group.commands.items() if not one.hidden}
    assert len(shown) == 11
    missing = [
        f"{name} {option.name}"
        for name, one in shown.items()
        for option in one.params
        if option.param_type_name == "option" and not option.hidden and not option.help
    ]
    assert not missing
