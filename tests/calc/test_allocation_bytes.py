"""The same inputs give the same bytes: on any machine, in any row order, with any hash seed."""

import hashlib
import json
import os
import subprocess
import sys
import unicodedata
from pathlib import Path

import pytest
from hypothesis import given, settings

from crosses.calc.errors import BadInput
from seedbank.calc import lottery
from seedbank.calc.allocation import (
    canonical_bytes,
    inputs_document,
    read_inputs,
    result_document,
    share,
)
from tests.calc.allocation_cases import exchanges

ROOT = Path(__file__).resolve().parents[2]
DOCUMENT = {
    "format": "seed allocation inputs 1",
    "event": "exchange-2027",
    "policy": "turns",
    "draw": {"secret": "07" * 32, "public_value": "04 11 19 23 38 42"},
    "members": [
        {"number": "0101", "tier": 0, "allowance": 3, "main": ["5", "1"], "reserve": ["9"]},
        {"number": "0007", "tier": 1, "allowance": 2, "main": ["1", "5", "9"], "reserve": []},
        {"number": "Ünal-3", "tier": 1, "allowance": 2, "main": ["5", "9"], "reserve": ["1"]},
    ],
    "lines": [
        {"number": "1", "stock": 1},
        {"number": "5", "stock": 2},
        {"number": "9", "stock": 1},
    ],
    "barred": [{"member": "0007", "line": "9", "rule": "may not be sent there"}],
}


def _run(path: Path, *more: str, hash_seed: str = "0") -> subprocess.CompletedProcess[bytes]:
    return subprocess.run(
        [sys.executable, "-m", "seedbank.calc.allocation", str(path), *more],
        cwd=ROOT,
        env={**os.environ, "PYTHONHASHSEED": hash_seed},
        capture_output=True,
        check=False,
    )


@pytest.fixture
def document(tmp_path):
    path = tmp_path / "inputs.json"
    path.write_text(json.dumps(DOCUMENT), encoding="utf-8")
    return path


def test_the_command_gives_the_same_bytes_with_every_hash_seed(document):
    answers = {_run(document, hash_seed=seed).stdout for seed in ("0", "1", "4242", "random")}
    assert len(answers) == 1
    assert json.loads(answers.pop())["packets"]


def test_rows_in_another_order_make_the_same_bytes(document, tmp_path):
    turned = {**DOCUMENT, "members": DOCUMENT["members"][::-1], "lines": DOCUMENT["lines"][::-1]}
    other = tmp_path / "turned.json"
    other.write_text(json.dumps(turned, indent=3), encoding="utf-8")
    assert _run(document).stdout == _run(other).stdout


def test_the_command_judges_a_result_that_was_changed(document, tmp_path):
    result = tmp_path / "result.json"
    _run(document, "--output", str(result))
    assert _run(document, "--check", str(result)).returncode == 0
    changed = json.loads(result.read_text())
    changed["packets"][0]["member"] = "0007"
    result.write_text(json.dumps(changed))
    assert _run(document, "--check", str(result)).returncode == 1


def test_the_command_needs_nothing_but_the_standard_library():
    code = (
        "import sys, seedbank.calc.allocation;"
        "sys.exit(any(name.split('.')[0] in {'django', 'numpy', 'scipy'} for name in sys.modules))"
    )
    assert subprocess.run([sys.executable, "-c", code], cwd=ROOT, check=False).returncode == 0


@settings(max_examples=100, deadline=None)
@given(exchanges())
def test_inputs_written_and_read_are_the_same_inputs(inputs):
    written = canonical_bytes(inputs_document(inputs))
    again = read_inputs(written)
    assert canonical_bytes(inputs_document(again)) == written
    assert canonical_bytes(result_document(again, share(again))) == canonical_bytes(
        result_document(inputs, share(inputs))
    )


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"policy": "luck"}, "luck"),
        ({"lines": [{"number": "1", "stock": -1}]}, "stock"),
        ({"members": [*DOCUMENT["members"], DOCUMENT["members"][0]]}, "0101"),
        ({"draw": {"secret": "07", "public_value": "x"}}, "32 bytes"),
        ({"format": "something else"}, "seed allocation inputs 1"),
    ],
)
def test_inputs_that_cannot_be_are_refused_in_words(change, words):
    with pytest.raises(BadInput, match=words):
        share(read_inputs(json.dumps({**DOCUMENT, **change}).encode()))


def test_the_draw_follows_the_published_recipe():
    """A second writing of the recipe with hashlib alone: lengths as four bytes, NFC, UTF-8."""
    event, secret, value = "exchange-2027", bytes([7] * 32), "04 11 19 23 38 42"
    seed = hashlib.sha256(
        b"seed-exchange seed v1\0"
        + len(event).to_bytes(4, "big")
        + event.encode()
        + secret
        + value.encode()
    ).digest()
    assert lottery.seed(event, secret, value) == seed

    def key(number: str) -> tuple[bytes, bytes]:
        written = unicodedata.normalize("NFC", number).encode()
        return (
            hashlib.sha256(
                b"seed-exchange lottery v1\0" + seed + len(written).to_bytes(4, "big") + written
            ).digest(),
            written,
        )

    numbers = ["0101", "0007", "Ünal-3", "12", "1"]
    assert list(lottery.order(seed, numbers)) == sorted(numbers, key=key)
    assert lottery.commitment(secret) == hashlib.sha256(secret).hexdigest()


def test_a_letter_written_in_two_ways_is_one_member_number():
    seed = bytes(32)
    composed, decomposed = "Ünal", "U\u0308nal"
    assert lottery.order(seed, [composed]) == lottery.order(seed, [decomposed])


def test_a_member_who_leaves_does_not_change_the_order_of_the_others():
    seed = bytes(range(32))
    numbers = [f"{number:04d}" for number in range(60)]
    whole = lottery.order(seed, numbers)
    assert lottery.order(seed, numbers[1:]) == tuple(n for n in whole if n != numbers[0])
