"""Run every benchmark after the other: `make bench`, or one by its name."""

import importlib
import sys
from pathlib import Path


def main(names: list[str]) -> None:
    found = sorted(path.stem for path in Path(__file__).parent.glob("bench_*.py"))
    for name in found:
        if names and name.removeprefix("bench_") not in names:
            continue
        print(f"== {name.removeprefix('bench_').replace('_', ' ')}", flush=True)
        importlib.import_module(f"tests.bench.{name}").main()


if __name__ == "__main__":
    main(sys.argv[1:])
