"""How fast the check is beside frictionless and pandera alone: same file, same run, each in a process of its own.

    python tools/check_speed.py [ROWS ...]            1000, 10000, 100000 and 1000000 rows when none are given

The file is a large table of seed lives with links to crops and sources. Its rows are invented: a shipped row's
figures stand under each source in turn. First comes a file with known faults and what each of the three says of it.
"""

from __future__ import annotations

import csv
import itertools
import json
import os
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple

ROOT = Path(__file__).resolve().parent.parent
TABLE = "seed_longevity"
KEPT = ("crops", "sources", "decisions")  # beside the large table
BIG = f"evidence/{TABLE}.csv"

WITHOUT_FAST = "import sys; sys.modules['pyarrow'] = None\n"
OURS = """
import sys, cropdata
report = cropdata.check(sys.argv[1], standard=False)
rows = {(item.file, item.row) for item in report.findings if item.severity == "error" and item.row}
"""
FRICTIONLESS = """
import sys, frictionless
frictionless.system.context  # loaded
report = frictionless.validate(sys.argv[1] + "/datapackage.json", type="package", limit_errors=1_000_000)
rows = {(task.place, error.row_number) for task in report.tasks for error in task.errors if hasattr(error, "row_number")}
rows |= {(task.place, 1) for task in report.tasks for error in task.errors if not hasattr(error, "row_number")}
"""
PANDERA = """
import sys, pandas, pandera.errors
from cropdata.tabular.descriptor import read_descriptor
from cropdata.validation.frames import schema_for
found = read_descriptor(sys.argv[1])
rows = set()
for table in found.tables.values():
    path = sys.argv[1] + "/" + table.path
    frame = pandas.read_csv(path, dtype=str, keep_default_na=False, na_values=[""])
    for field in table.fields:
        if field.type == "number":
            frame[field.name] = pandas.to_numeric(frame[field.name], errors="coerce").where(frame[field.name].notna())
    try:
        schema_for(table.name, found).validate(frame, lazy=True)
    except pandera.errors.SchemaErrors as error:
        rows |= {(table.path, int(place) + 2) for place in error.failure_cases["index"].dropna()}
"""
TOLD = "print(sorted(row for file, row in rows if file.endswith('seed_longevity.csv')))\n"
