"""How the workbook looks: number formats and styles of cells: one plain type, a grey band behind headings.

Cells that may be changed have a border and a pale ground, so that they stand out in print without colour as well.
"""

from __future__ import annotations

from typing import Any

# number formats; no thousandth of a cent, and no figure without its format
MONEY = "money"  # a format that shows cents where they fit
WHOLE = "#,##0"
ONE = "#,##0.0"
TWO = "#,##0.00"
THREE = "#,##0.000"
PRICE = "#,##0.0000"
FACTOR = "0.000000"
SHARE = "0.00%"
PERCENT = "0.0%"
YEAR = "0"
SIGNIFICANT = "#,##0.0#"

BASE: dict[str, Any] = {"font_name": "Arial", "font_size": 10, "valign": "top", "font_scheme": "none"}
BETWEEN = 0.7  # letters, the margin between two columns
_BAND = "#E4E4E4"
STYLES: dict[str, dict[str, Any]] = {
    "title": {"bold": True, "font_size": 15},
    "part": {"bold": True, "font_size": 11.5},
    "heading": {"bold": True, "text_wrap": True, "bottom": 1, "bg_color": _BAND, "valign": "bottom"},
    "heading_right": {
        **{"bold": True, "text_wrap": True, "bottom": 1, "bg_color": _BAND, "valign": "bottom"},
        "align": "right",
    },
    "heading_beside": {
        **{"bold": True, "text_wrap": True, "bottom": 1, "bg_color": _BAND, "valign": "bottom"},
        **{"align": "left", "indent": 1},
    },
    "text": {"text_wrap": True},
    "unit": {"align": "left", "indent": 1},  # beside a figure
    "beside": {"align": "left", "indent": 1, "text_wrap": True},
    "word": {"align": "right", "text_wrap": True},  # in place of a figure
    "blank": {"border": 1},  # to be filled in by hand
    "line": {},  # runs on over empty cells to its right
    "strong": {"bold": True, "text_wrap": True},
    "number": {"align": "right", "shrink": True},  # a long figure prints small, never as ####
    "input": {"border": 1, "bg_color": "#FFF9DC", "shrink": True},
    "total": {"bold": True, "top": 1, "shrink": True},
    "total_text": {"bold": True, "top": 1, "text_wrap": True},
}
