"""How wide a text is in the workbook's type, and how many lines it takes: a file cannot ask the reader's screen.

Widths in letters: the standard letter that a spreadsheet counts columns in.
Source: widths of a plain type without serifs, in thousandths of its size, as published with the type.
"""

from __future__ import annotations

from rich.cells import cell_len

# widths of letters in thousandths of the type's size, and of all others
_WIDTHS = {
    222: "ijl|'",
    278: "ft .,/:;![]I",
    333: "-()r",
    500: "ckvxyszJ",
    611: "FTZ",
    667: "ABEKPSVXY&",
    722: "CDHNRUw",
    778: "GOQ",
    833: "mM",
    889: "%",
    1000: "W@",
}
_WIDTH_OF = {letter: width for width, letters in _WIDTHS.items() for letter in letters}
_OTHER, _DOUBLE = 560, 1100
_LETTERS_PER_SIZE = 13.33 / 7.0  # type of 10 points against the standard letter, both in pixels


def width_of(text: str, *, bold: bool = False) -> float:
    """Width of a text in the workbook's type, taken a little wide.

    >>> width_of("ill") < width_of("map") < width_of("MAP")
    True

    Args: text; bold, whether it is. Returns: width [letters].
    """
    thousandths = sum(_DOUBLE if cell_len(letter) > 1 else _WIDTH_OF.get(letter, _OTHER) for letter in text)
    return thousandths / 1000.0 * _LETTERS_PER_SIZE * (1.08 if bold else 1.02)


def lines_of(text: str, width: float, *, bold: bool = False) -> int:
    """Lines that a text takes when it is wrapped between words.

    >>> lines_of("removed by the units", 12.0)
    2

    Args: text; width [letters]; bold, whether it is.
    Returns: number of lines.
    """
    lines, used, space = 1, 0.0, width_of(" ", bold=bold)
    for word in text.split(" "):
        length = width_of(word, bold=bold)
        if used and used + space + length > width:
            lines, used = lines + 1, 0.0
        used += length + (space if used else 0.0)
        extra = int(used // width) if used > width else 0
        lines, used = lines + extra, used - extra * width
    return lines
