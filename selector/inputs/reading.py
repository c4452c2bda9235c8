"""Reads the bytes of a file that a person named, or says why not."""

from __future__ import annotations

import os
from pathlib import Path

from selector.inputs.errors import Faults

UTF_16 = (b"\xff\xfe", b"\xfe\xff")  # byte order marks


def read_bytes(*, path: Path, allowed: str, faults: Faults) -> bytes | None:
    """Read a file.

    Args: path; allowed, what should be there, for the message; faults, takes what is wrong.
    Returns: its bytes, None where it cannot be read or is UTF-16 text.
    """
    file = str(path)
    try:
        contents = path.read_bytes()
    except OSError as error:
        got = "a folder" if is_folder(path) else reason(error)
        faults.add(file=file, where="file", got=got, allowed=allowed)
        return None
    except ValueError:  # a NUL in the name
        faults.add(file=file, where="file", got="a name that no file can have", allowed=allowed)
        return None
    if contents.startswith(UTF_16):
        faults.add(file=file, where="file", got="UTF-16 text", allowed="UTF-8 text")
        return None
    return contents


def is_folder(path: Path) -> bool:
    """Say whether a path leads to a folder.

    Args: path. Returns: false also where its name is one that no file can have.
    """
    return os.path.isdir(path)  # unlike Path's own, it takes any name


def is_there(path: Path) -> bool:
    """Say whether a path leads to anything.

    Args: path. Returns: false also where its name is one that no file can have.
    """
    return os.path.exists(path)


def reason(error: OSError) -> str:
    """Why the system refused, in its words.

    Args: error. Returns: text in small letters.
    """
    return (error.strerror or "no answer").lower()
