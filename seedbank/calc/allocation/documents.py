"""Inputs and results as JSON documents: one way to write each, so that digests can be compared.

Canonical form: UTF-8 in Unicode NFC, keys in order, no spaces, one newline at the end; members
and lines in the byte order of their numbers; wishes and the draw in the order that matters.
"""

import hashlib
import json
import unicodedata
from collections.abc import Mapping
from typing import Any

from crosses.calc.errors import BadInput
from seedbank.calc.allocation.model import Inputs, Packet, Pass, Result
from seedbank.calc.allocation.outcomes import outcomes, records
from seedbank.calc.allocation.reasons import main_wishes, sentences
from seedbank.calc.allocation.workings import byte_order

INPUTS_FORMAT = "seed allocation inputs 1"
RESULT_FORMAT = "seed allocation result 1"

Document = dict[str, Any]


def canonical_bytes(document: Mapping[str, Any]) -> bytes:
    r"""Return the one way a document is written.

    Examples
    --------
    >>> canonical_bytes({"b": 1, "a": ["é"]})
    b'{"a":["\xc3\xa9"],"b":1}\n'
    """
    text = json.dumps(document, sort_keys=True, separators=(",", ":"), ensure_ascii=False)
    return unicodedata.normalize("NFC", f"{text}\n").encode()


def sha256(document: Mapping[str, Any]) -> str:
    """Return the SHA-256 of a document in its canonical form, in hexadecimal."""
    return hashlib.sha256(canonical_bytes(document)).hexdigest()


def inputs_document(inputs: Inputs) -> Document:
    """Return inputs as a document; rows given in another order make the same one."""
    return {
        "format": INPUTS_FORMAT,
        "event": inputs.event,
        "policy": inputs.policy,
        "options": {
            "plentiful_free": inputs.options.plentiful_free,
            "head_start": inputs.options.head_start,
            "one_per_household": inputs.options.one_per_household,
        },
        "draw": {
            "order": list(inputs.order),
            **({"seed": inputs.draw_seed.hex()} if inputs.draw_seed else {}),
        },
        "members": [
            {
                "number": member.number,
                "tier": member.tier,
                "allowance": member.allowance,
                "household": member.household,
                "main": list(member.main),
                "reserve": list(member.reserve),
            }
            for member in sorted(inputs.members, key=lambda each: byte_order(each.number))
        ],
        "lines": [
            {
                "number": line.number,
                "stock": line.stock,
                "copies": line.copies,
                "withdrawn": line.withdrawn,
            }
            for line in sorted(inputs.lines, key=lambda each: byte_order(each.number))
        ],
        "barred": [
            {"member": bar.member, "line": bar.line, "rule": bar.rule}
            for bar in sorted(
                inputs.bars,
                key=lambda each: [byte_order(e) for e in (each.member, each.line, each.rule)],
            )
        ],
        "frozen": [
            {"member": packet.member, "line": packet.line, "counts": packet.counts}
            for packet in sorted(
                inputs.frozen,
                key=lambda each: (byte_order(each.member), byte_order(each.line), each.counts),
            )
        ],
        "plentiful": (
            None if inputs.plentiful is None else sorted(inputs.plentiful, key=byte_order)
        ),
        "make_good": sorted(inputs.make_good, key=byte_order),
    }


def result_document(inputs: Inputs, result: Result) -> Document:
    """Return a result as a document, with the digest of the inputs it came from."""
    return {
        "format": RESULT_FORMAT,
        "inputs_sha256": sha256(inputs_document(inputs)),
        "policy": result.policy,
        "engine": result.engine,
        "packets": [
            {
                "member": packet.member,
                "line": packet.line,
                "phase": packet.phase,
                "position": packet.position,
                "turn": packet.turn,
                "frozen": packet.was_frozen,
            }
            for packet in result.packets
        ],
        "closing_turns": result.closing_turns,
        "full": list(result.full),
        "last_turns": {member: list(turns) for member, turns in result.last_turns.items()},
        "passes": [
            {"phase": each.phase, "pass": each.number, "first_turn": each.first_turn}
            for each in result.passes
        ],
        "plentiful": list(result.plentiful),
        # Written as text, for they go beyond what every reader of JSON holds exactly.
        "prices": {node: str(price) for node, price in result.prices.items()},
    }


def read_result(data: bytes) -> Result:
    """Read a result again that `result_document` wrote.

    Raises
    ------
    BadInput
        If it is not such a document.
    """
    try:
        document = json.loads(data)
        return Result(
            policy=document["policy"],
            engine=document["engine"],
            packets=tuple(
                Packet(
                    each["member"],
                    each["line"],
                    each["phase"],
                    each["position"],
                    each["turn"],
                    each["frozen"],
                )
                for each in document["packets"]
            ),
            closing_turns=document["closing_turns"],
            full=tuple(document["full"]),
            last_turns={
                member: (main, reserve)
                for member, (main, reserve) in document["last_turns"].items()
            },
            passes=tuple(
                Pass(each["phase"], each["pass"], each["first_turn"]) for each in document["passes"]
            ),
            plentiful=tuple(document["plentiful"]),
            prices={node: int(price) for node, price in document["prices"].items()},
        )
    except (ValueError, KeyError, TypeError) as broken:
        raise BadInput(f"This is not the result of a sharing-out: {broken}") from broken


def reasons_document(inputs: Inputs, result: Result, *, with_sentences: bool) -> Document:
    """Return what became of every wish, by member; with a sentence each if wanted.

    A member's wishes stand in the order of her list: line, outcome, turn, and the sentence.
    """
    lines = {line.number: line for line in inputs.lines}
    wishes = main_wishes(inputs)
    told: Document = {}
    for record in records(inputs, result):
        rows: list[list[Any]] = [
            [outcome.line, outcome.code, outcome.turn]
            for outcome in outcomes(record, lines, inputs, result)
        ]
        if with_sentences:
            texts = sentences(record, lines, wishes, inputs, result)
            rows = [[*row, text] for row, text in zip(rows, texts, strict=True)]
        told[record.member.number] = rows
    return told
