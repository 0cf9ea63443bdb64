"""What is kept of a result so that one member's page can be told without everybody's lists.

A small part is the same for all: the rules, the passes, and of each line its stock, its wishes
and when it closed. The other part is each member's own: her list, her bars, her packets. Both are
plain JSON; together they give the same sentences as inputs and result do.
"""

from collections.abc import Iterator, Mapping
from dataclasses import asdict
from typing import Any

from seedbank.calc.allocation.model import Inputs, Line, Member, Options, Packet, Pass, Result
from seedbank.calc.allocation.outcomes import Outcome, Record, outcomes, records
from seedbank.calc.allocation.reasons import main_wishes, sentences

Document = dict[str, Any]


def common_part(inputs: Inputs, result: Result) -> Document:
    """Return what every member's page needs: rules, passes, and each line in five figures."""
    wishes = main_wishes(inputs)
    return {
        "policy": inputs.policy,
        "options": asdict(inputs.options),
        "passes": [[each.phase, each.number, each.first_turn] for each in result.passes],
        "plentiful": list(result.plentiful),
        "members": len(inputs.members),
        "lines": {
            line.number: [
                line.stock,
                line.copies,
                line.withdrawn,
                wishes[line.number],
                result.closing_turns.get(line.number),
            ]
            for line in inputs.lines
        },
    }


def own_parts(inputs: Inputs, result: Result) -> Iterator[tuple[str, Document]]:
    """Return each member's number and what only her page needs."""
    places = {number: place for place, number in enumerate(inputs.order, start=1)}
    full = set(result.full)
    for record in records(inputs, result):
        member = record.member
        yield (
            member.number,
            {
                "place": places[member.number],
                "tier": member.tier,
                "allowance": member.allowance,
                "household": member.household,
                "main": list(member.main),
                "reserve": list(member.reserve),
                "bars": dict(record.bars),
                "room": record.room,
                "is_full": member.number in full,
                "last_turns": list(result.last_turns.get(member.number, ())),
                "packets": [list(packet[1:]) for packet in record.packets],
            },
        )


def tell(number: str, common: Document, own: Document) -> tuple[tuple[Outcome, str], ...]:
    """Return, in the order of a member's list, what became of each wish and the sentence for it."""
    record = Record(
        member=Member(
            number,
            own["tier"],
            own["allowance"],
            tuple(own["main"]),
            tuple(own["reserve"]),
            own["household"],
        ),
        bars=own["bars"],
        packets=tuple(Packet(number, *packet) for packet in own["packets"]),
        room=own["room"],
    )
    asked = dict.fromkeys((*own["main"], *own["reserve"]))
    kept: Mapping[str, Any] = common["lines"]
    lines = {line: Line(line, *kept[line][:3]) for line in asked}
    wishes = {line: kept[line][3] for line in asked}
    inputs = Inputs(
        event="",
        policy=common["policy"],
        members=(record.member,),
        lines=tuple(lines.values()),
        order=(number,),
        options=Options(**common["options"]),
    )
    result = Result(
        policy=common["policy"],
        engine="",
        packets=record.packets,
        closing_turns={line: kept[line][4] for line in asked if kept[line][4] is not None},
        full=(number,) if own["is_full"] else (),
        last_turns={number: (own["last_turns"][0], own["last_turns"][1])}
        if own["last_turns"]
        else {},
        passes=tuple(Pass(*each) for each in common["passes"]),
        plentiful=tuple(line for line in common["plentiful"] if line in asked),
        prices={},
    )
    told = outcomes(record, lines, inputs, result)
    said = sentences(record, lines, wishes, inputs, result)
    return tuple(zip(told, said, strict=True))
