"""Writes the files that a person asked for, all of them, whole, or none; and stands by standard output."""

from __future__ import annotations

import errno
import os
import sys
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from pathlib import Path

from selector.inputs.errors import Faults, InputFaults
from selector.inputs.reading import is_folder

STANDARD_OUTPUT = "-"
ENDINGS = {
    "--workbook": (".xlsx",),
    "--out": (".svg", ".png"),
    "--report": (".html", ".htm"),
}  # of options whose files go by their ending


def check_outputs(*, outputs: Mapping[str, str | None], inputs: Sequence[Path] = ()) -> None:
    """Check where results are to go, before any work is done.

    Args: outputs, path by option, "-" for standard output, None where the option is absent; inputs, files that must
        not be overwritten.
    Raises: InputFaults, with every fault.
    """
    faults = Faults()
    read = {path.resolve() for path in inputs if can_be_a_name(str(path))}
    taken: dict[str, str] = {}
    for option, text in outputs.items():
        if text is None:
            continue
        endings = ENDINGS.get(option, ("",))
        if not text.lower().endswith(endings):
            allowed = " or ".join(f"*{ending}" for ending in endings)
            faults.add(file=option, where=f'"{text}"', got="another name", allowed=f"a file named {allowed}")
            continue
        where = f'"{text}"'
        if not can_be_a_name(text):
            faults.add(
                file=option,
                where=f'"{text[:60]}"',
                got="a name that no file can have",
                allowed="another name",
            )
            continue
        place = text if text == STANDARD_OUTPUT else str(Path(text).resolve())
        if place in taken:
            faults.add(
                file=option, where=where, got=f"the same as {taken[place]}", allowed="a place of its own"
            )
        taken.setdefault(place, option)
        if text == STANDARD_OUTPUT:
            continue
        path = Path(text)
        folder = path.resolve().parent
        if is_folder(path) or text.endswith(("/", os.sep)):
            faults.add(file=option, where=where, got="a folder", allowed="a file")
        elif not is_folder(folder):
            faults.add(file=option, where=where, got="a folder that is not there", allowed="a folder that is")
        elif not os.access(folder, os.W_OK, effective_ids=os.access in os.supports_effective_ids):
            faults.add(
                file=option,
                where=where,
                got="a folder that cannot be written",
                allowed="a folder that can be",
            )
        elif path.resolve() in read:
            faults.add(file=option, where=where, got="a file that is read", allowed="another file")
    faults.raise_if_any()


def can_be_a_name(text: str) -> bool:
    """Say whether the system takes a text as the path of a file, there or not.

    Args: text. Returns: false where it is too long, holds a NUL or leads round in a circle.
    """
    try:
        Path(text).resolve().stat()
    except (ValueError, RuntimeError):  # the latter: links in a circle
        return False
    except OSError as error:
        return error.errno not in (errno.ENAMETOOLONG, errno.ELOOP, errno.EINVAL)
    return True


def write_files(*, contents: Mapping[str, str | bytes]) -> None:
    """Write files beside their places and move them there once all are whole.

    Args: contents by path, text or the bytes of a file that is no text.
    Raises: InputFaults where the folder or the disk refuses; then nothing is left behind and older files stand.
    """
    moves: list[tuple[Path, Path]] = []
    current = ""
    try:
        for name, content in contents.items():
            whole = content if isinstance(content, bytes) else content.encode("utf-8")
            current = name
            path = Path(name).resolve()  # a link stays a link
            if path.exists() and not path.is_file():  # a device or a pipe: nothing to move
                path.write_bytes(whole)
                continue
            part = path.with_name(f".{path.name}.{os.getpid()}.part")
            moves.append((part, path))
            with part.open("xb") as file:
                file.write(whole)
                file.flush()
                os.fsync(file.fileno())
        for part, path in moves:
            part.replace(path)
    except OSError as error:
        raise _refused(current, error) from error
    finally:
        for part, _ in moves:
            part.unlink(missing_ok=True)


@contextmanager
def standard_output() -> Iterator[None]:
    """Print within this, so that standard output that takes no more is told from a defect.

    Returns: a context, for `with`. Raises: InputFaults where standard output refuses what was printed, for instance a
    file on a full disk; BrokenPipeError as it comes.
    """
    try:
        yield
        sys.stdout.flush()
    except BrokenPipeError:
        raise
    except OSError as error:
        forsake_standard_output()
        raise _refused("standard output", error) from error


def forsake_standard_output() -> None:
    """Let nothing more go to a standard output that refuses it: the interpreter's last flush would fail, too."""
    os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


def _refused(place: str, error: OSError) -> InputFaults:
    faults = Faults()
    got = (error.strerror or "an error").lower()
    faults.add(file=place, where="file", got=got, allowed="a place that can be written")
    return InputFaults(faults.all())
