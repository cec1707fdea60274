"""A spreadsheet as a grower makes it by hand: 15 invented varieties, and six of the mistakes that people make.

    python tests/layering/by_hand.py FILE.xlsx [--mended]

Varieties, packets and figures are invented. Sheets are named by their tables, cells typed as a person types them: numbers
as numbers, words as words, and where a spreadsheet makes a date of what was typed, a date.
"""

from __future__ import annotations

import datetime
import sys
from pathlib import Path
from typing import Any

import openpyxl

Cells = list[list[Any]]

CROPS: Cells = [
    ["crop_id", "name", "parent_id"],
    ["tomato-hill-farm", "Hill Farm", "tomato"],
    ["tomato-early-brick", "Early Brick", "tomato"],
    ["tomato-yellow-lamp", "Yellow Lamp", "tomato"],
    ["pepper-long-finger", "Long Finger", "pepper"],
    ["pepper-little-bell", "Little Bell", "pepper"],
    ["bean-station-road", "Station Road", "bean-pole"],
    ["bean-quick-bush", "Quick Bush", "bean-snap"],
    ["pea-tall-anna", "Tall Anna", "pea"],
    ["carrot-red-cellar", "Red Cellar", "carrot"],
    ["lettuce-may-frill", "May Frill", "lettuce-leaf"],
    ["onion-brown-winter", "Brown Winter", "onion"],
    ["leek-blue-shank", "Blue Shank", "leek"],
    ["cucumber-short-green", "Short Green", "cucumber"],
    ["basil-big-leaf", "Big Leaf", "basil"],
    ["radish-white-tip", "White Tip", "radish"],
]
PACKETS: Cells = [
    ["crop_id", "habit", "seeds_in_packet", "low", "high", "unit", "counted_from", "packed_year"],
    ["tomato-hill-farm", "cordon", 40, 70, 80, "days", "planting", 2026],
    ["tomato-early-brick", "bush", 25, 60, 65, "days", "planting", 2026],
    ["tomato-yellow-lamp", "cordon", 25, 75, 80, "days", "planting", 2025],
    ["pepper-long-finger", "bush", 20, 75, 85, "days", "planting", 2026],
    ["pepper-little-bell", "bush", 20, 65, 70, "days", "planting", 2026],
    ["bean-station-road", "climbing", 60, 65, 75, "days", "sowing", 2025],
    ["bean-quick-bush", "bush", 80, 50, 55, "days", "sowing", 2026],
    ["pea-tall-anna", "climbing to 1/4 above the net", 150, 70, 75, "days", "sowing", 2026],
    ["carrot-red-cellar", "long", 800, 110, 120, "days", "sowing", 2026],
    ["lettuce-may-frill", "loose leaf", 500, 45, 50, "days", "sowing", 2026],
    ["onion-brown-winter", "round", 300, 150, 160, "days", "sowing", 2024],
    ["leek-blue-shank", "long", 250, 120, 130, "days", "planting", 2026],
    ["cucumber-short-green", "trailing", 20, 55, 60, "days", "planting", 2026],
    ["basil-big-leaf", "bush", 200, 55, 65, "days", "sowing", 2026],
    ["radish-white-tip", "round", 400, 25, 28, "days", "sowing", 2026],
]
EMERGENCE: Cells = [
    ["crop_id", "low", "high", "unit", "source_id"],
    ["tomato-hill-farm", 7, 10, "days", "Aunt May's notebook"],
    ["radish-white-tip", 3, 6, "days", "Aunt May's notebook"],
]
DEPTH: Cells = [
    ["crop_id", "low", "high", "unit", "source_id"],
    ["bean-station-road", 1.5, 2, "in", "Aunt May's notebook"],
    ["leek-blue-shank", 0.5, 0.75, "in", "Aunt May's notebook"],
]
LIFE: Cells = [
    ["crop_id", "low", "high", "unit", "action"],
    ["onion", 1, 2, "years", "override"],
    ["carrot", 2, 3.5, "years", ""],
]
# The six: sheet, row, column, what stands there.
MISTAKES: list[tuple[str, int, str, Any]] = [
    ("seed_longevity", 3, "high", "3,5"),  # a decimal comma
    ("days_to_emergence", 2, "low", datetime.datetime(2026, 10, 7)),  # typed 7-10, for low and high at once
    ("packets", 5, "crop_id", "pepper-long-finger "),  # a blank after it
    ("crops", 14, "parent_id", "courgete"),  # no crop is called so
    ("sowing_depth", 2, "unit", "mm"),  # 1.5 to 2 inches, written as millimetres
    ("packets", 10, "unit", None),  # days without their unit
]


def make(path: Path, mistakes: list[tuple[str, int, str, Any]]) -> Path:
    """The workbook with those mistakes."""
    book = openpyxl.Workbook()
    book.remove(book.active)
    sheets = {
        "crops": CROPS,
        "packets": PACKETS,
        "days_to_emergence": EMERGENCE,
        "sowing_depth": DEPTH,
        "seed_longevity": LIFE,
    }
    for name, rows in sheets.items():
        sheet = book.create_sheet(name)
        for row in rows:
            sheet.append([cell if cell != "" else None for cell in row])
        for where, row, column, value in mistakes:
            if where == name:
                sheet.cell(row, rows[0].index(column) + 1).value = value
    book.save(path)
    return path


if __name__ == "__main__":
    make(Path(sys.argv[1]), [] if "--mended" in sys.argv else MISTAKES)
