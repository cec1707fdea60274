"""Rebuild what is generated in datapackage/: formatting, canonical columns, derived tables, dictionary, hashes.

python tools/build.py           write what has changed
python tools/build.py --check   write nothing; exit 1 when something is stale
"""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
sys.path.insert(0, str(ROOT))

from cropdata.errors import CropdataError  # noqa: E402
from cropdata.release.building import build_package, stale_files, write_package  # noqa: E402


def main() -> int:
    """Run the build. Returns the exit status: 0 done or fresh, 1 stale, 2 a table cannot be read."""
    parser = argparse.ArgumentParser(description="Rebuild the generated parts of the data package.")
    parser.add_argument("--check", action="store_true", help="write nothing; exit 1 when a file is stale")
    parser.add_argument("--package", default=str(ROOT / "datapackage"), help="folder of the package")
    options = parser.parse_args()
    try:
        built = build_package(options.package)
        changed = stale_files(options.package, built) if options.check else write_package(options.package, built)
    except CropdataError as error:
        print(f"build: {error}", file=sys.stderr)
        return 2
    rows = sum(built.counts.values())
    print(
        f"{len(built.counts)} tables, {rows} rows, {built.counts['crops']} crops, {built.counts['consensus']} answers"
    )
    for path in changed:
        print(f"  {'stale' if options.check else 'written'}: {path}")
    if options.check and changed:
        print("run: python tools/build.py", file=sys.stderr)
        return 1
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
