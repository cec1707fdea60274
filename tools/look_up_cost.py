"""What a look-up costs, beside importing pandas, in one run.

    python tools/look_up_cost.py

Best of several processes; byte code is written first, as in any installed copy.
"""

from __future__ import annotations

import os
import subprocess
import sys
import time
import timeit
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
ENVIRONMENT = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
FIRST = (
    "import time, cropdata; start = time.perf_counter(); "
    "cropdata.open().crop('tomato').sowing_depth; print((time.perf_counter() - start) * 1000)"
)


def _run(*arguments: str) -> str:
    return subprocess.run(
        [sys.executable, *arguments], capture_output=True, text=True, check=True, cwd=ROOT, env=ENVIRONMENT
    ).stdout


def wall_ms(*arguments: str, times: int = 15) -> float:
    """Least wall time of a process in milliseconds."""
    _run(*arguments)
    best = float("inf")
    for _ in range(times):
        start = time.perf_counter()
        _run(*arguments)
        best = min(best, time.perf_counter() - start)
    return best * 1000


def main() -> int:
    """Print the figures."""
    bare, imported = wall_ms("-c", "pass"), wall_ms("-c", "import cropdata")
    print(f"import cropdata above bare Python: {imported - bare:.1f} ms (bare {bare:.1f} ms)")
    print(f"first look-up: {min(float(_run('-c', FIRST)) for _ in range(15)):.1f} ms")
    sys.path.insert(0, str(ROOT))
    import cropdata

    db = cropdata.open()
    db.crop("tomato")
    print(f"each next look-up: {min(timeit.repeat(lambda: db.crop('tomato'), number=100_000, repeat=5)) * 10:.2f} us")
    count = "import sys, cropdata; n = len(sys.modules); cropdata.open().crop('tomato').sowing_depth; print(n, len(sys.modules))"
    at_start = _run("-c", "import sys; print(len(sys.modules))").strip()
    print(f"modules: bare {at_start}; after import and after a look-up: {_run('-c', count).strip()}")
    show, pandas = wall_ms("-m", "cropdata", "show", "tomato", times=9), wall_ms("-c", "import pandas", times=9)
    print(f"cropdata show tomato {show:.0f} ms, import pandas {pandas:.0f} ms, ratio {show / pandas:.2f}")
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
