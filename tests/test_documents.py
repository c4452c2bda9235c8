"""README.md and DEVELOPERS.md say what is so: commands, examples, output, files and links.

The example output is renewed with `pytest tests/test_documents.py --renew-golden`.
"""

from __future__ import annotations

import re
import shlex
import tomllib
from pathlib import Path
from typing import Any

import pytest
import typer.main

from selector.cli import app
from selector.inputs.catalog import RATING_COLUMNS, UNIT_COLUMNS
from selector.inputs.errors import Faults
from selector.inputs.schedules import DAY_KINDS
from selector.inputs.schema_keys import kind_of, schema_keys
from selector.inputs.site_alternates import EXCLUSIONS
from selector.inputs.site_file import read_site
from selector.inputs.weather import read_recorded
from selector.report.hourly_csv import COLUMNS, EXTRA_COLUMNS, EXTRA_UNIT_COLUMNS, LAST_COLUMN
from selector.report.hourly_csv import UNIT_COLUMNS as OF_UNITS
from tests.commands import chosen, run

ROOT = Path(__file__).parents[1]
README = ROOT / "README.md"
DOCUMENTS = (README, ROOT / "DEVELOPERS.md")
BLOCK = re.compile(r"^(?:<!-- ([^\n]*?) -->\n)?```(\w*)\n(.*?)^```$", re.MULTILINE | re.DOTALL)
TABLE = re.compile(r"^\[+\s*([^\]]+?)\s*\]+")


def blocks(path: Path) -> list[tuple[str, str, str]]:
    """Mark, language and text of every fenced block."""
    return [(found[1] or "", found[2], found[3]) for found in BLOCK.finditer(path.read_text("utf-8"))]


def marked(mark: str) -> list[tuple[str, str]]:
    """What stands behind the mark, and the text, of the README's blocks with a mark."""
    return [
        (name.removeprefix(mark).strip(": "), text)
        for name, _, text in blocks(README)
        if name.startswith(mark)
    ]


# ---------------------------------------------------------------------------------------- commands


def test_the_two_commands_are_found_by_their_marks_and_are_one_line_each() -> None:
    shells = [(mark, text) for mark, language, text in blocks(README) if language == "sh"]
    assert [mark for mark, _ in shells] == ["command: run", "command: test"]
    for _, text in shells:
        assert text.count("\n") == 1
    assert "selector choose scenarios/school.toml" in shells[0][1]
    assert "pytest" in shells[1][1]
    script = (ROOT / ".ci" / "run").read_text("utf-8")
    assert "<!-- command: $1 -->" in script


def test_every_command_of_an_example_exists_with_its_options() -> None:
    group: Any = typer.main.get_command(app)
    commands = group.commands
    lines = [
        line
        for path in DOCUMENTS
        for _, language, text in blocks(path)
        if language == "console"
        for line in text.splitlines()
        if line.startswith("selector ")
    ]
    assert len(lines) >= 5
    for line in lines:
        _, name, *words = shlex.split(line)
        options = {option for one in commands[name].params for option in one.opts}
        assert not commands[name].hidden
        assert {word for word in words if word.startswith("--")} <= options, line


def test_every_command_is_named_and_what_is_not_there_is_refused() -> None:
    text = README.read_text("utf-8")
    group: Any = typer.main.get_command(app)
    for name, command in group.commands.items():
        if not command.hidden:
            assert f"`selector {name} " in text, name
            continue
        assert f"`{name}`" in text, name
        done = run(name)
        assert done.exit_code == 2
        assert "not in this version" in done.stderr


# ---------------------------------------------------------------------------------------- examples


@pytest.mark.parametrize(("line", "shown"), marked("output"), ids=[line for line, _ in marked("output")])
def test_the_example_output_is_what_the_command_prints(
    monkeypatch: pytest.MonkeyPatch, line: str, shown: str, renew_golden: bool
) -> None:
    monkeypatch.chdir(ROOT)
    done = run(*shlex.split(line)[1:])
    assert done.exit_code == 0, done.stderr
    if renew_golden:
        text = README.read_text("utf-8")
        README.write_text(text.replace(f"```text\n{shown}```", f"```text\n{done.stdout}```"), "utf-8")
        shown = done.stdout
    assert done.stdout == shown


def test_the_keys_of_the_json_are_named() -> None:
    text = README.read_text("utf-8")
    result = chosen()[1]
    keys = {*result, *result["proof"]}
    missing = sorted(key for key in keys if f"`{key}`" not in text)
    assert not missing


def test_shown_files_are_real_files_or_parts_of_them() -> None:
    shown = marked("file")
    assert len(shown) >= 2
    for name, text in shown:
        assert text in (ROOT / name).read_text("utf-8"), name


def tables_of(text: str) -> list[tuple[str, str]]:
    """Split a TOML file into its tables: name of each ("" for what stands above the first) and text."""
    parts: list[tuple[str, str]] = [("", "")]
    for line in text.splitlines(keepends=True):
        found = TABLE.match(line)
        if found:
            parts.append((found[1], ""))
        parts[-1] = (parts[-1][0], parts[-1][1] + line)
    return parts


def test_shown_parts_make_a_site_that_is_read(tmp_path: Path) -> None:
    school = ROOT / "scenarios" / "school.toml"
    parts = marked("part")
    assert len(parts) >= 2
    (tmp_path / "catalogs").symlink_to(ROOT / "catalogs")
    (tmp_path / "scenarios").mkdir()
    (tmp_path / "scenarios" / "weather").symlink_to(ROOT / "scenarios" / "weather")
    for place, (_, part) in enumerate(parts):
        theirs = {
            name.split(".")[0] if name != "weather.normals" else name for name, _ in tables_of(part) if name
        }
        kept = [
            text for name, text in tables_of(school.read_text("utf-8")) if name.split(".")[0] not in theirs
        ]
        if "schedules" in theirs:
            kept += [
                text for name, text in tables_of(school.read_text("utf-8")) if name == "schedules.classes"
            ]
        file = tmp_path / "scenarios" / f"part-{place}.toml"
        file.write_text("".join(kept) + "\n" + part, encoding="utf-8")
        site = read_site(path=file)
        assert site.name == tomllib.loads(school.read_text("utf-8"))["name"]


def test_every_toml_block_is_marked() -> None:
    for path in DOCUMENTS:
        for mark, language, text in blocks(path):
            if language == "toml":
                assert mark.split(":")[0] in ("file", "part"), text


def test_the_shown_weather_is_read(tmp_path: Path) -> None:
    [(_, text)] = marked("weather")
    file = tmp_path / "weather.csv"
    file.write_text(text, encoding="utf-8")
    faults = Faults()
    table = read_recorded(path=file, faults=faults)
    faults.raise_if_any()
    assert table is not None
    assert table.kind == "synthetic"
    assert table.elevation == 12.0
    assert set(table.columns) == {"dry_bulb", "dew_point", "global_horizontal"}


# ---------------------------------------------------------------------------------------- tables


def test_every_column_of_the_hourly_csv_is_listed_with_what_it_holds() -> None:
    text = README.read_text("utf-8")
    rows = {**COLUMNS, **EXTRA_COLUMNS}
    rows |= LAST_COLUMN
    rows |= {f"<model>_{name}": what for name, what in {**OF_UNITS, **EXTRA_UNIT_COLUMNS}.items()}
    missing = [name for name, what in rows.items() if f"| `{name}` | {what} |" not in text]
    assert not missing


def test_sections_that_a_proposal_may_leave_out_are_listed() -> None:
    text = " ".join(README.read_text("utf-8").split())
    assert f"may name: {', '.join(f'`{name}`' for name in EXCLUSIONS)}. " in text


def test_every_column_of_a_catalogue_is_listed() -> None:
    text = README.read_text("utf-8")
    missing = [name for name in (*UNIT_COLUMNS, *RATING_COLUMNS) if f"`{name}`" not in text]
    assert not missing


def test_every_key_of_a_site_file_is_named() -> None:
    words = set(re.findall(r"[a-z_]+", README.read_text("utf-8")))
    names = {key.rpartition(".")[2] for key in schema_keys()} | {*DAY_KINDS, "otherwise", "ranges"}
    assert len(names) > 150
    assert not sorted(names - words)


def test_every_limit_is_named_and_every_dotted_key_is_one() -> None:
    text = README.read_text("utf-8")
    limits = [key.removeprefix("limits.") for key in schema_keys() if key.startswith("limits.")]
    assert not [name for name in limits if f"`{name}`" not in text and f"`limits.{name}`" not in text]
    tables = "space|air_handler|limits|costs|weather|humidity_target"
    keys = re.findall(rf"`((?:{tables})\.[a-z_.]+)`", text)
    assert keys
    assert not [key for key in keys if key not in schema_keys() and kind_of(key) is None]


# ---------------------------------------------------------------------------------------- links


def anchor_of(heading: str) -> str:
    return re.sub(r"[^\w\- ]", "", heading.strip().lower()).replace(" ", "-")


@pytest.mark.parametrize("path", DOCUMENTS, ids=lambda path: path.name)
def test_links_and_file_names_lead_somewhere(path: Path) -> None:
    text = path.read_text("utf-8")
    prose = BLOCK.sub("", text)
    for target in re.findall(r"\]\(([^)\s]+)\)", prose):
        assert "://" not in target, target
        file, _, anchor = target.partition("#")
        other = ROOT / file if file else path
        assert other.is_file(), target
        headings = re.findall(r"^#+ (.*)$", BLOCK.sub("", other.read_text("utf-8")), re.MULTILINE)
        assert not anchor or anchor in [anchor_of(heading) for heading in headings], target
    names = re.findall(r"`((?:selector|tests|scenarios|catalogs|\.ci)/[\w./-]*)`", prose)
    assert names
    missing = [name for name in names if not (ROOT / name).exists()]
    assert not missing


def test_lines_are_no_longer_than_the_code_allows() -> None:
    for path in DOCUMENTS:
        prose = BLOCK.sub("", path.read_text("utf-8"))
        long = [line for line in prose.splitlines() if len(line) > 120 and not line.startswith("|")]
        assert not long
