"""Check a published sharing-out: the draw, the inputs and the result, from its files alone.

``python verify_sharing.pyz inputs.json result.json --secret HEX --public-value TEXT``

It asks nothing of the society's site and needs nothing but Python. What `--commitment` and
`--frozen-digest` were published beforehand shows that nobody chose the secret, the wishes or the
stock to suit the draw.
"""

import argparse
import hashlib
import json
import sys
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

from crosses.calc.errors import BadInput
from seedbank.calc import lottery
from seedbank.calc.allocation.checker import problems
from seedbank.calc.allocation.documents import (
    canonical_bytes,
    inputs_document,
    result_document,
    sha256,
)
from seedbank.calc.allocation.model import Inputs
from seedbank.calc.allocation.reading import read_inputs
from seedbank.calc.allocation.sharing import share
from seedbank.calc.allocation.workings import byte_order


def main(arguments: list[str]) -> int:
    """Say of each thing that can be checked whether it is so; 0 if all is, 1 if not, 2 if unread."""
    parser = argparse.ArgumentParser(
        prog="verify_sharing.pyz",
        description="Check the published files of a sharing-out of seed: draw, inputs and result.",
    )
    parser.add_argument("inputs", type=Path, help="inputs.json of a run")
    parser.add_argument("result", type=Path, help="result.json of the same run")
    parser.add_argument("--secret", default="", help="the secret revealed with the result")
    parser.add_argument("--public-value", default="", help="the public value of the draw")
    parser.add_argument("--commitment", default="", help="what was published at the opening")
    parser.add_argument("--frozen-digest", default="", help="published before the draw; first run")
    asked = parser.parse_args(arguments)
    try:
        told = list(findings(asked.inputs.read_bytes(), asked.result.read_bytes(), asked))
    except BadInput as fault:
        sys.stdout.write(f"WRONG: {fault}\n")
        return 1
    except (OSError, ValueError) as fault:
        sys.stderr.write(f"{fault}\n")
        return 2
    for is_so, words in told:
        sys.stdout.write(f"{'right' if is_so else 'WRONG'}: {words}\n")
    return 0 if all(is_so for is_so, _words in told) else 1


def findings(
    inputs_bytes: bytes, result_bytes: bytes, asked: argparse.Namespace
) -> Iterator[tuple[bool, str]]:
    """Return each thing checked: whether it is so, and in words what it is."""
    inputs = read_inputs(inputs_bytes)
    digest = hashlib.sha256(inputs_bytes).hexdigest()
    yield (
        canonical_bytes(inputs_document(inputs)) == inputs_bytes,
        f"the inputs are written in the published form; SHA-256 of the file {digest}",
    )
    yield from _draw(inputs, asked)
    if asked.frozen_digest:
        undrawn = replace(
            inputs,
            draw_seed=b"",
            order=tuple(sorted((member.number for member in inputs.members), key=byte_order)),
        )
        yield (
            sha256(inputs_document(undrawn)) == asked.frozen_digest,
            "wishes and stock are those whose digest was published before the draw",
        )
    result = share(inputs)
    claimed = json.loads(result_bytes)
    if isinstance(claimed, dict):
        # Earlier results carried a digest of themselves.
        claimed.pop("result_sha256", None)
    yield (
        canonical_bytes(claimed) == canonical_bytes(result_document(inputs, result)),
        "sharing out from these inputs gives this result;"
        f" SHA-256 of the file {hashlib.sha256(result_bytes).hexdigest()}",
    )
    faults = problems(inputs, result)
    yield not faults, faults[0] if faults else "the result keeps every rule of the round"


def _draw(inputs: Inputs, asked: argparse.Namespace) -> Iterator[tuple[bool, str]]:
    if asked.commitment:
        revealed = lottery.commitment(bytes.fromhex(asked.secret))
        yield revealed == asked.commitment, "the secret is the one committed to at the opening"
    if asked.secret:
        seed = lottery.seed(inputs.event, bytes.fromhex(asked.secret), asked.public_value)
        yield seed == inputs.draw_seed, "the seed of the draw follows from secret and public value"
    order = lottery.order(inputs.draw_seed, [member.number for member in inputs.members])
    yield order == inputs.order, "the order of choosing follows from the seed"


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
