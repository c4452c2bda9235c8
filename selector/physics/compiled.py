"""Where compiled functions are kept on disk.

Numba notices a change in a function's own file, not in the files of what it calls. So the folder's name carries a
digest of every source file that takes part and of the libraries compiled into it: a change anywhere leads to a new
folder, and nothing stale is run.
"""

from __future__ import annotations

import contextlib
import hashlib
import shutil
import sys
from collections.abc import Callable
from importlib.metadata import version
from pathlib import Path
from typing import Any, TypeVar

import numba
import platformdirs

Function = TypeVar("Function", bound=Callable[..., Any])

KEPT = 4  # folders of earlier versions that are left in place


def digest() -> str:
    """Digest of the sources and libraries that compiled code is made of.

    Returns: 16 hexadecimal digits.
    """
    total = hashlib.sha256(sys.version.encode())
    for library in ("numba", "llvmlite", "numpy", "psychrolib"):
        total.update(version(library).encode())
    package = Path(__file__).parent.parent
    for source in sorted([*package.glob("physics/*.py"), *package.glob("decide/*.py")]):
        text = source.read_bytes()
        if source.parent.name == "physics" or b"import compiled" in text or b"import njit" in text:
            total.update(source.name.encode())
            total.update(text)
    return total.hexdigest()[:16]


def folder() -> Path:
    """Folder of compiled functions for the present sources.

    Returns: path below the user's cache folder; it may not exist yet.
    """
    return Path(platformdirs.user_cache_dir("dehumidifier-selector")) / "compiled" / digest()


def is_compiled(*, work: str) -> bool:
    """Whether an earlier run has compiled all that a piece of work needs.

    Args: work, the name of a command.
    Returns: false where it will compile first.
    """
    return (CACHE / f"{work}.whole").is_file()


def note_compiled(*, work: str) -> None:
    """Remember that a piece of work ran to its end, and remove what earlier versions left.

    Args: work, the name of a command.
    """
    if is_compiled(work=work) or not CACHE.is_dir():
        return
    with contextlib.suppress(OSError):  # a folder that cannot be written: said again next time
        (CACHE / f"{work}.whole").touch()
        forget_old()


def forget_old() -> None:
    """Remove folders of earlier versions but the youngest few."""
    others = [path for path in CACHE.parent.glob("*") if path != CACHE]
    for path in sorted(others, key=lambda one: one.stat().st_mtime)[:-KEPT]:
        shutil.rmtree(path, ignore_errors=True)


CACHE = folder()
setattr(numba.config, "CACHE_DIR", str(CACHE))  # noqa: B010 - numba fills its config at run time


def compiled(function: Function) -> Function:
    """Compile a function of the hourly loop.

    It may not allocate: without numba's reference counts, which took two thirds of the loop's time, arrays are only
    borrowed. Division by zero gives infinity instead of an error, and the interpreter's lock is let go.

    Args: function, of numbers, arrays and records.
    Returns: its compiled form, kept on disk.
    """
    options: dict[str, Any] = {"cache": True, "nogil": True, "error_model": "numpy", "_nrt": False}
    form: Function = numba.njit(**options)(function)
    return form
