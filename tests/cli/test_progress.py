from __future__ import annotations

import io
from pathlib import Path

import cropdata
from cropdata.cli.progress import Bar


def test_the_bar_waits_two_seconds_and_takes_itself_away() -> None:
    now = [0.0]
    stream = io.StringIO()
    bar = Bar(stream, lambda: now[0])
    bar("a.csv", 1_000, 0.1)
    bar.close()
    assert stream.getvalue() == ""
    now[0] = 2.5
    bar("a.csv", 1_234_567, 0.5)
    bar("a.csv", 1_300_000, 0.6)  # too soon after
    now[0] = 3.0
    bar("b", 2_000_000, None)
    bar.close()
    _, first, second, blank, end = stream.getvalue().split("\r")
    assert first == "a.csv [##########..........] 50%, 1,234,567 rows"
    assert second.rstrip() == "b …, 2,000,000 rows" and len(second) == len(first)
    assert blank.strip() == "" and end == ""


def test_progress_counts_rows_and_bytes(package: Path) -> None:
    told: list[tuple[str, int, float | None]] = []
    report = cropdata.check(package, standard=False, progress=lambda *place: told.append(place))
    assert told[-1][1] == report.rows and all(share == 1 for _, _, share in told)
    assert {file for file, _, _ in told} >= {"evidence/seed_longevity.csv", "reference/crops.csv"}
