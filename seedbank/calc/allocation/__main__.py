"""Share out from a file: ``python -m seedbank.calc.allocation INPUT.json``."""

import argparse
import json
import sys
from pathlib import Path

from crosses.calc.errors import BadInput
from seedbank.calc.allocation import problems, read_inputs, share
from seedbank.calc.allocation.documents import (
    canonical_bytes,
    reasons_document,
    result_document,
)


def main(arguments: list[str]) -> int:
    """Read, share out, and write the result or the outcome of the check."""
    parser = argparse.ArgumentParser(
        prog="python -m seedbank.calc.allocation",
        description="Share out seed packets from published inputs, to the same bytes anywhere.",
    )
    parser.add_argument("input", type=Path, help="the inputs, a JSON document")
    parser.add_argument("--output", type=Path, help="write the result to this file")
    parser.add_argument(
        "--without-sentences", action="store_true", help="give reasons as codes and turns only"
    )
    parser.add_argument(
        "--check", type=Path, metavar="RESULT.json", help="say whether this result is the right one"
    )
    options = parser.parse_args(arguments)
    try:
        inputs = read_inputs(options.input.read_bytes())
        result = share(inputs)
        document = result_document(inputs, result)
        if options.check:
            return _check(document, options.check, problems(inputs, result))
        reasons = reasons_document(inputs, result, with_sentences=not options.without_sentences)
    except (BadInput, OSError) as fault:
        sys.stderr.write(f"{fault}\n")
        return 2
    written = canonical_bytes({**document, "reasons": reasons})
    if options.output:
        options.output.write_bytes(written)
    else:
        sys.stdout.buffer.write(written)
    return 0


def _check(document: dict[str, object], path: Path, faults: tuple[str, ...]) -> int:
    try:
        claimed = json.loads(path.read_bytes())
    except ValueError as broken:
        raise BadInput(f"{path} is not a JSON document: {broken}") from broken
    if isinstance(claimed, dict):
        for beside in ("reasons", "result_sha256"):
            claimed.pop(beside, None)
    is_same = canonical_bytes(claimed) == canonical_bytes(document)
    for fault in faults:
        sys.stdout.write(f"{fault}\n")
    sys.stdout.write(
        "This is the result of these inputs.\n"
        if is_same
        else "This is NOT the result of these inputs.\n"
    )
    return 0 if is_same and not faults else 1


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
