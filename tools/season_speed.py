"""How long a season of many packets takes to plan: python tools/season_speed.py [PACKETS]. Invented place and packets."""

from __future__ import annotations

import sys
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

import cropdata

PLACE = {
    "name": "invented",
    "last_spring_frost": {0.9: "04-10", 0.5: "04-28", 0.1: "05-15"},
    "first_autumn_frost": {0.1: "10-01", 0.5: "10-19", 0.9: "11-11"},
    "bench_temperature_c": {"day": 22, "night": 16},
    "mats": 2,
    "shelf_trays": 50,
    "soil_temperature_c": [1, 1, 3, 8, 13, 18, 21, 20, 16, 11, 6, 3],
    "night_temperature_c": [-7, -6, -2, 4, 9, 15, 18, 17, 13, 7, 2, -4],
}


def main() -> None:
    """Plan every crop in turn, each packet with its own variety, age, plants and, every third, a test of its own."""
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 10_000
    db = cropdata.open()
    ids = list(db)
    packets = [
        {"crop": ids[number % len(ids)], "variety": f"Kind {number}", "packed": 2022 + number % 6, "plants": 1 + number % 60, "seeds": 100}
        | ({"tested": {"germinated": 5 + number % 6, "sown": 10}} if number % 3 == 0 else {})
        for number in range(count)
    ]  # fmt: skip
    start = time.perf_counter()
    plan = cropdata.plan({"season": 2027, "place": PLACE, "packets": packets}, db)
    print(f"{count} packets, {len(plan.sowings)} sowings: {time.perf_counter() - start:.1f} s")


if __name__ == "__main__":
    main()
