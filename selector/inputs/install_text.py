"""Reads a design from the words of the command line, as in "2 precool-120 standalone"."""

from __future__ import annotations

from collections.abc import Sequence

from selector.inputs.errors import Faults, shortened
from selector.inputs.fields import closest
from selector.inputs.site import ARRANGEMENTS, Arrangement, Catalog, Install, Site

OPTION = "--install"
MOST = 999
EXAMPLE = "2 precool-120 standalone"


def parse_installs(*, texts: Sequence[str], site: Site) -> tuple[Install, ...]:
    """Read the parts of a design.

    Args: texts, each "COUNT MODEL ARRANGEMENT"; site, whose catalogue and arrangements count.
    Returns: the parts, in the order given.
    Raises: InputFaults, with every fault of every part.
    """
    faults = Faults()
    found = read_installs(
        texts=texts,
        models=[unit.model for unit in site.catalog.units],
        arrangements=[name for name in ARRANGEMENTS if name in site.costs.installation],
        places=[(OPTION, f'"{shortened(text)}"') for text in texts],
        faults=faults,
    )
    faults.raise_if_any()
    return found


def judge_installs(*, texts: Sequence[str], catalog: Catalog | None, faults: Faults) -> None:
    """Judge the parts of a design beside a site that has faults: models only where its catalogue has none.

    Args: texts, as of `parse_installs`; catalog of the site, None where it could not be read; faults, takes what is
        wrong.
    """
    read_installs(
        texts=texts,
        models=None if catalog is None else [unit.model for unit in catalog.units],
        arrangements=ARRANGEMENTS,
        places=[(OPTION, f'"{shortened(text)}"') for text in texts],
        faults=faults,
    )


def read_installs(
    *,
    texts: Sequence[str],
    models: Sequence[str] | None,
    arrangements: Sequence[Arrangement],
    places: Sequence[tuple[str, str]],
    faults: Faults,
) -> tuple[Install, ...]:
    """Read parts of a design wherever they are written.

    Args: texts, each "COUNT MODEL ARRANGEMENT"; models that may be named, None for any; arrangements that may be;
        places, file and key of each text; faults, takes what is wrong.
    Returns: the parts that have no fault, in the order given.
    """
    found: list[Install] = []
    for text, (file, where) in zip(texts, places, strict=True):
        words = text.split()
        if len(words) != 3:
            got = "nothing" if not words else f"{len(words)} word{'s' if len(words) > 1 else ''}"
            allowed = f'count, model and arrangement, as in "{EXAMPLE}"'
            faults.add(file=file, where=where, got=got, allowed=allowed)
            continue
        before = len(faults)
        count = 0
        if words[0].isascii() and words[0].isdigit() and len(words[0]) < 10 and 1 <= int(words[0]) <= MOST:
            count = int(words[0])
        else:
            allowed = f"a whole number from 1 to {MOST}, as in {EXAMPLE!r}"
            faults.add(file=file, where=f"{where}, count", got=f'"{words[0]}"', allowed=allowed)
        for word, what, known in ((words[1], "model", models), (words[2], "arrangement", arrangements)):
            if known is not None and word not in known:
                faults.add(file=file, where=f"{where}, {what}", got=f'"{word}"', allowed=closest(word, known))
        if len(faults) > before:
            continue
        arrangement = next(name for name in arrangements if name == words[2])
        if any(part.model == words[1] and part.arrangement == arrangement for part in found):
            got = f"{words[1]} {arrangement} a second time"
            faults.add(file=file, where=where, got=got, allowed="each model once in an arrangement")
        found.append(Install(words[1], arrangement, count))
    return tuple(found)


def text_of(part: Install) -> str:
    """Write one part of a design as `--install` reads it.

    >>> text_of(Install("precool-120", "standalone", 2))
    '2 precool-120 standalone'

    Args: part.
    Returns: count, model and arrangement.
    """
    return f"{part.count} {part.model} {part.arrangement}"
