"""Packets put away as they are scanned: the right ones at once, each wrong one with its reason."""

import datetime
from collections.abc import Iterable
from dataclasses import dataclass

from crosses.base.refusal import Refused
from crosses.calc.checkdigit import read_number
from crosses.calc.errors import BadInput
from seedbank.bank.access import packets_in_the_hands_of, packets_visible_to
from seedbank.bank.actions.packet import move
from seedbank.bank.models import Movement, Packet, Place
from seedbank.members.models import Member


@dataclass(frozen=True)
class Stored:
    """What became of each number."""

    stored: tuple[Packet, ...]
    refused: tuple[tuple[str, str], ...]


def read_packet_numbers(lines: Iterable[str]) -> tuple[list[str], list[tuple[str, str]]]:
    """Split scanned lines into packet numbers, each once, and the lines that are none."""
    numbers: list[str] = []
    wrong: list[tuple[str, str]] = []
    for line in lines:
        typed = line.strip()
        if not typed:
            continue
        try:
            # A scanner reads the whole address of the code.
            number = read_number(typed.rstrip("/").rpartition("/")[2], kind="packet")
        except BadInput as no:
            wrong.append((typed, no.message))
            continue
        if number not in numbers:
            numbers.append(number)
    return numbers, wrong


def packets_numbered(lines: Iterable[str], *, field: str) -> list[Packet]:
    """Find the packets of scanned lines, or refuse at the field they were scanned into."""
    numbers, wrong = read_packet_numbers(lines)
    for typed, why in wrong:
        raise Refused("number-wrong", f"{typed}: {why}", field=field)
    found = Packet.objects.in_bulk(numbers, field_name="number")
    unknown = next((number for number in numbers if number not in found), None)
    if unknown is not None:
        raise Refused("packet-unknown", f"There is no packet {unknown}.", field=field)
    return [found[number] for number in numbers]


def store_packets(
    *, lines: Iterable[str], place: Place, by: Member, at: datetime.datetime
) -> Stored:
    """Put each packet into the place; what goes is kept, whatever becomes of the others."""
    numbers, refused = read_packet_numbers(lines)
    mine = packets_in_the_hands_of(by).select_related("place").in_bulk(numbers, field_name="number")
    stored: list[Packet] = []
    for number in numbers:
        packet = mine.get(number)
        if packet is None:
            refused.append((number, _why_not(number, by)))
            continue
        if packet.place_id == place.pk:
            stored.append(packet)
            continue
        try:
            move(packet=packet, kind=Movement.Kind.MOVED, by=by, at=at, place=place)
        except Refused as no:
            refused.append((number, no.message))
        else:
            stored.append(packet)
    return Stored(tuple(stored), tuple(refused))


def _why_not(number: str, by: Member) -> str:
    packet = packets_visible_to(by).filter(number=number).first()
    if packet is None:
        return "There is no such packet, or it is not yours to move."
    if packet.state == Packet.State.WITH_MEMBER and by.is_keeper:
        return "It is with a member: receive it through its donation."
    return f"It is not yours to move: it is {packet.get_state_display()}."
