"""Reads a design from the words of the command line, as in "2 precool-120 standalone"."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from selector.inputs.errors import Faults
from selector.inputs.fields import closest
from selector.inputs.site import ARRANGEMENTS, Install, Site

OPTION = "--install"
MOST = 999


def parse_installs(*, texts: Sequence[str], site: Site) -> tuple[Install, ...]:
    """Read the parts of a design.

    Args: texts, each "COUNT MODEL ARRANGEMENT"; site, whose catalogue and arrangements count.
    Returns: the parts, in the order given.
    Raises: InputFaults, with every fault of every part.
    """
    faults = Faults()
    models = [unit.model for unit in site.catalog.units]
    allowed = [name for name in ARRANGEMENTS if name in site.costs.installation]
    found: list[Install] = []
    seen: set[tuple[str, str]] = set()
    for text in texts:
        words = text.split()
        if len(words) != 3:
            got = "nothing" if not words else f"{len(words)} words"
            faults.add(
                file=OPTION,
                where=f'"{text}"',
                got=got,
                allowed='count, model and arrangement, as in "2 precool-120 standalone"',
            )
            continue
        count = _count(words[0], text, faults)
        model = _known(words[1], "model", models, text, faults)
        arrangement = _known(words[2], "arrangement", allowed, text, faults)
        if count is None or model is None or arrangement is None:
            continue
        if (model, arrangement) in seen:
            faults.add(
                file=OPTION,
                where=f'"{text}"',
                got=f"{model} {arrangement} a second time",
                allowed="each model once in an arrangement",
            )
        seen.add((model, arrangement))
        found.append(Install(model, next(name for name in ARRANGEMENTS if name == arrangement), count))
    faults.raise_if_any()
    return tuple(found)


def _count(word: str, text: str, faults: Faults) -> int | None:
    if word.isascii() and word.isdigit() and 1 <= int(word) <= MOST:
        return int(word)
    faults.add(
        file=OPTION,
        where=f'"{text}", count',
        got=f'"{word}"',
        allowed=f"a whole number from 1 to {MOST}, as in {text_of(Install('precool-120', 'standalone', 2))!r}",
    )
    return None


def _known(word: str, what: str, names: Iterable[str], text: str, faults: Faults) -> str | None:
    known = list(names)
    if word in known:
        return word
    faults.add(file=OPTION, where=f'"{text}", {what}', got=f'"{word}"', allowed=closest(word, known))
    return None


def text_of(part: Install) -> str:
    """Write one part of a design as `--install` reads it.

    >>> text_of(Install("precool-120", "standalone", 2))
    '2 precool-120 standalone'

    Args: part.
    Returns: count, model and arrangement.
    """
    return f"{part.count} {part.model} {part.arrangement}"
