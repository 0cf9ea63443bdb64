"""Sharing out seed packets: from wishes, stock and a published draw to packets and reasons.

Standard library only. The same inputs give the same bytes on every machine and every Python::

    python -m seedbank.calc.allocation INPUT.json --output RESULT.json
    python -m seedbank.calc.allocation INPUT.json --check RESULT.json

Three policies: `turns`, one packet a turn in an order that is reversed every pass; `straight`,
one member after the other; `even`, as many packets as can be, spread evenly.

The inputs are a JSON object:

``format``
    ``"seed allocation inputs 1"``.
``event``
    Name of the round, as the draw used it.
``policy``
    ``"turns"``, ``"straight"`` or ``"even"``.
``draw``
    ``{"order": [member numbers, first to last]}``, or ``{"seed": 64 hexadecimal digits}``, or
    ``{"secret": ..., "public_value": ..., "commitment": ...}``, from which the order follows as
    `seedbank.calc.lottery` says.
``members``
    Objects with ``number``, ``tier`` (0 donor, 1 ordinary), ``allowance`` in packets, ``main``
    and ``reserve`` (line numbers, most wanted first; a line named twice asks for two packets),
    ``household`` (a name that its members share, or empty).
``lines``
    Objects with ``number``, ``stock`` (packets to share out, frozen ones included), ``copies``
    (most packets a member may have, 1), ``withdrawn`` (false).
``barred``
    Objects with ``member``, ``line`` and ``rule``, the words of the rule.
``frozen``
    Objects with ``member``, ``line`` and ``counts`` (whether it uses up allowance, true): packets
    that are packed, announced or kept back already. Two packets are two objects.
``plentiful``
    Lines that had enough for every main wish when wishes closed; null or left out, it is worked
    out. A later run of the same round is given the first run's.
``make_good``
    Members who lost a packet through no fault of theirs; they take a turn before all others.
``options``
    ``plentiful_free`` (true: such a line costs no turn), ``head_start`` (0: passes the donors
    have to themselves, or ``"strict"``), ``one_per_household`` (false).

The result names the digest of its inputs and the engine that made it, and holds ``packets`` with
the turn each was taken in, ``closing_turns`` of the lines, the members who ended ``full``, each
member's ``last_turns`` among main wishes and reserves, the first turn of each of the ``passes``,
the ``plentiful`` lines and, for `even`, the ``prices`` that prove it. ``reasons`` holds for each
member, in the order of her list: line, outcome, turn, sentence. The outcomes are GOT, PLENTIFUL,
PACKED, GONE, FULL, BARRED, DUPLICATE, HOUSEHOLD and WITHDRAWN.
"""

from seedbank.calc.allocation.checker import problems
from seedbank.calc.allocation.documents import (
    canonical_bytes,
    inputs_document,
    read_result,
    reasons_document,
    result_document,
    sha256,
)
from seedbank.calc.allocation.even import share_evenly
from seedbank.calc.allocation.measures import Measures, Share, Shortage, measure, shortages
from seedbank.calc.allocation.model import (
    POLICIES,
    Bar,
    Frozen,
    Inputs,
    Line,
    Member,
    Options,
    Packet,
    Pass,
    Policy,
    Result,
)
from seedbank.calc.allocation.outcomes import Outcome, Record, outcomes, records
from seedbank.calc.allocation.reading import read_inputs
from seedbank.calc.allocation.reasons import main_wishes, sentences
from seedbank.calc.allocation.sharing import share
from seedbank.calc.allocation.straight import share_straight
from seedbank.calc.allocation.telling import common_part, own_parts, tell
from seedbank.calc.allocation.turns import share_by_turns

__all__ = [
    "POLICIES",
    "Bar",
    "Frozen",
    "Inputs",
    "Line",
    "Measures",
    "Member",
    "Options",
    "Outcome",
    "Packet",
    "Pass",
    "Policy",
    "Record",
    "Result",
    "Share",
    "Shortage",
    "canonical_bytes",
    "common_part",
    "inputs_document",
    "main_wishes",
    "measure",
    "outcomes",
    "own_parts",
    "problems",
    "read_inputs",
    "read_result",
    "reasons_document",
    "records",
    "result_document",
    "sentences",
    "sha256",
    "share",
    "share_by_turns",
    "share_evenly",
    "share_straight",
    "shortages",
    "tell",
]
