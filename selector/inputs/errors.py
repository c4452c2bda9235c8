"""What is wrong with the files that a person wrote, all of it in one message."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TypeVar

One = TypeVar("One")
LONGEST = 1000  # characters of a place or a value in a message


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing that is wrong: in which file, at which key or row, what was got and what is allowed."""

    file: str
    where: str
    got: str
    allowed: str

    def __str__(self) -> str:
        """Return the fault as one line of text."""
        return f"{self.file}: {self.where}: got {self.got}; allowed: {self.allowed}"


class InputFaults(Exception):  # noqa: N818 - it holds several, so "faults", not "error"
    """The input is wrong; holds every fault that was found, in the order of finding."""

    def __init__(self, faults: tuple[Fault, ...]) -> None:
        self.faults = faults
        super().__init__("\n".join(str(fault) for fault in faults))


def _printed(text: str) -> str:
    """Write what does not print, such as the end of a line or a space that looks like another, as an escape."""
    return "".join(c if c.isprintable() else c.encode("unicode_escape").decode("ascii") for c in text)


def shortened(text: str) -> str:
    """Leave out the middle of a text that nobody would read to its end.

    >>> shortened("9" * 5000)[-50:]
    '999999 ... 99999999999999999999 (5,000 characters)'

    Args: text. Returns: the same text up to 1,000 characters, else its first and last.
    """
    if len(text) <= LONGEST:
        return text
    return f"{text[:80]} ... {text[-20:]} ({len(text):,} characters)"


class Faults:
    """Collects faults, so that a person reads all of them at once.

    >>> faults = Faults()
    >>> faults.add(file="hall.toml", where="space.floor_area", got="9000", allowed="an area")
    >>> faults.raise_if_any()
    Traceback (most recent call last):
        ...
    selector.inputs.errors.InputFaults: hall.toml: space.floor_area: got 9000; allowed: an area
    """

    def __init__(self) -> None:
        self._faults: list[Fault] = []

    def __len__(self) -> int:
        """Return how many faults there are so far."""
        return len(self._faults)

    def add(self, *, file: str, where: str, got: str, allowed: str) -> None:
        """Add one fault, unless the same one is there already.

        Arguments: file, as the person named it; where, the key, row or column; got, what stands there;
        allowed, what may stand there. What does not print is escaped, and what is long is cut.
        """
        fault = Fault(
            file=_printed(file),
            where=shortened(_printed(where)),
            got=shortened(_printed(got)),
            allowed=_printed(allowed),
        )
        if fault not in self._faults:
            self._faults.append(fault)

    def extend(self, faults: tuple[Fault, ...]) -> None:
        """Take over the faults that another reader found."""
        for fault in faults:
            self.add(file=fault.file, where=fault.where, got=fault.got, allowed=fault.allowed)

    def attempt(self, read: Callable[[], One]) -> One | None:
        """Run a reader and keep its faults, so that what does not depend on it can be judged as well.

        >>> faults = Faults()
        >>> faults.attempt(lambda: 9000)
        9000

        Arguments: read, which raises `InputFaults` where something is wrong.
        Returns: what it returns, None where it raised.
        """
        try:
            return read()
        except InputFaults as error:
            self.extend(error.faults)
        return None

    def all(self) -> tuple[Fault, ...]:
        """Return the faults so far, in the order of finding."""
        return tuple(self._faults)

    def raise_if_any(self) -> None:
        """Raise `InputFaults` with all faults so far; do nothing where there are none."""
        if self._faults:
            raise InputFaults(tuple(self._faults))
