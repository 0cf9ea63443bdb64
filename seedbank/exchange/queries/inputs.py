"""Everything a sharing-out depends on, read from the records into its frozen inputs."""

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import cast

from django.db.models import Q

from seedbank.calc import lottery
from seedbank.calc.allocation.model import Bar, Frozen, Inputs, Line, Member, Options, Policy
from seedbank.calc.pseudonym import veiled
from seedbank.exchange.models import HandChange, ListLine, ParcelItem, Round, Wish, WishList
from seedbank.exchange.queries.bars import bars_for
from seedbank.exchange.queries.listing import lines_with_kinds, stock_of
from seedbank.exchange.queries.round import allowance_from, lots_given_by_member
from seedbank.members.models import Member as Person


@dataclass(frozen=True, slots=True)
class Keep:
    """What an earlier sharing-out leaves standing in a later one.

    `promises` are kept as they are; `plentiful` is the first run's snapshot; `make_good` names
    members who lost a packet, once a packet.
    """

    promises: tuple[ParcelItem, ...] = ()
    plentiful: tuple[str, ...] | None = None
    make_good: tuple[str, ...] = ()


NOTHING_KEPT = Keep()


def gather_inputs(round: Round, *, draw_seed: bytes | None, keep: Keep = NOTHING_KEPT) -> Inputs:
    """Read the inputs of a round. Without a seed the members stand in the order of their numbers.

    That is the form whose digest is published before the public value is known.
    """
    lines = list(lines_with_kinds(ListLine.objects.filter(round=round)).order_by("line_number"))
    numbers = {line.pk: str(line.line_number) for line in lines}
    changes = list(
        HandChange.objects.filter(round=round, replaced_at=None).select_related("member")
    )
    people = _people(round, keep.promises, changes)
    barred = bars_for(lines, {person.country for person in people.values()})
    gifts = _gifts(changes, lines, barred)
    # A promise that is left standing against a bar is the keeper's to give up, not the run's.
    standing = Counter(
        (people[i.parcel.member_id].number, numbers[i.line_id]) for i in keep.promises
    )
    wishes = _wishes(round, numbers)
    bars = _bars(barred, people, wishes, numbers) + _withheld(changes, numbers)
    against: dict[str, dict[str, int]] = {}
    for bar in bars:
        if (bar.member, bar.line) in standing:
            against.setdefault(bar.member, {})[bar.line] = standing[bar.member, bar.line]
    members = _members(round, people, wishes, numbers, against)
    taking_part = {member.number for member in members}
    inputs = Inputs(
        event=round.slug,
        policy=cast("Policy", round.policy),
        members=members,
        lines=_lines(round, lines, keep.promises),
        order=tuple(sorted((member.number for member in members), key=str.encode)),
        bars=tuple(bar for bar in bars if (bar.member, bar.line) not in standing),
        frozen=_frozen(keep.promises, gifts, people, numbers),
        plentiful=keep.plentiful,
        # Who has cancelled since is owed nothing more.
        make_good=tuple(number for number in keep.make_good if number in taking_part),
        options=Options(
            head_start=round.head_start_passes, one_per_household=round.household_shares_cap
        ),
    )
    if round.pseudonym_key:
        inputs = veiled(inputs, bytes.fromhex(round.pseudonym_key))
    return inputs if draw_seed is None else drawn(inputs, draw_seed)


def drawn(inputs: Inputs, draw_seed: bytes) -> Inputs:
    """Put the members of inputs in the order of a draw."""
    order = lottery.order(draw_seed, [member.number for member in inputs.members])
    return replace(inputs, order=order, draw_seed=draw_seed)


def living_promises(round: Round) -> list[ParcelItem]:
    """Return the packets promised in a round and not given up, in a fixed order."""
    return list(
        ParcelItem.objects.filter(parcel__round=round, released_at=None)
        .select_related("parcel__member", "line", "packet")
        .order_by("line__line_number", "packet__number")
    )


def barred_promises(round: Round) -> list[tuple[ParcelItem, str]]:
    """Return the promises, not posted yet, that a bar forbids by now, each with the words of the bar."""
    waiting = [
        item
        for item in living_promises(round)
        if item.parcel.posted_on is None and item.parcel.cancelled_at is None
    ]
    lines = lines_with_kinds(ListLine.objects.filter(pk__in={item.line_id for item in waiting}))
    bars = bars_for(lines, {item.parcel.member.country for item in waiting})
    found = [(item, bars.get((item.line_id, item.parcel.member.country))) for item in waiting]
    return [(item, words) for item, words in found if words]


def _frozen(
    promises: Sequence[ParcelItem],
    gifts: Sequence[HandChange],
    people: dict[int, Person],
    numbers: dict[int, str],
) -> tuple[Frozen, ...]:
    """Return the packets that stay with their members: promises kept, and what was given by hand."""
    frozen = [
        Frozen(
            people[item.parcel.member_id].number,
            numbers[item.line_id],
            # What is left over may be taken beyond the allowance.
            counts=not item.is_surplus,
        )
        for item in promises
    ]
    kept = {(packet.member, packet.line) for packet in frozen}
    for gift in gifts:
        pair = (gift.member.number, numbers[gift.line_id])
        if pair not in kept:
            frozen.append(Frozen(*pair))
    return tuple(sorted(frozen, key=lambda packet: (packet.member.encode(), packet.line.encode())))


def _gifts(
    changes: Sequence[HandChange], lines: Sequence[ListLine], barred: dict[tuple[int, str], str]
) -> list[HandChange]:
    """Return what is to be given by hand and still can be: not withdrawn, not barred since."""
    withdrawn = {line.pk for line in lines if line.withdrawn_reason}
    return [
        change
        for change in changes
        if change.kind == HandChange.Kind.GIVE
        and change.line_id not in withdrawn
        and (change.line_id, change.member.country) not in barred
    ]


def _withheld(changes: Sequence[HandChange], numbers: dict[int, str]) -> tuple[Bar, ...]:
    return tuple(
        Bar(change.member.number, numbers[change.line_id], f"By hand: {change.why}")
        for change in changes
        if change.kind == HandChange.Kind.WITHHOLD
    )


def _people(
    round: Round, promises: Sequence[ParcelItem], changes: Sequence[HandChange]
) -> dict[int, Person]:
    """Return who takes part: those with a living wish list, and those who keep a packet all the same."""
    kept = {item.parcel.member_id for item in promises}
    kept |= {change.member_id for change in changes}
    living = WishList.objects.filter(round=round, cancelled_at=None).values("member_id")
    people = Person.objects.filter(Q(pk__in=living) | Q(pk__in=kept)).only(
        "pk", "number", "country", "household_id"
    )
    return {person.pk: person for person in people}


def _wishes(round: Round, numbers: dict[int, str]) -> dict[int, tuple[list[int], list[int]]]:
    """Return each member's main and reserve wishes as line keys, most wanted first."""
    rows = (
        Wish.objects.filter(wish_list__round=round, wish_list__cancelled_at=None)
        .order_by("wish_list_id", "rank")
        .values_list("wish_list__member_id", "line_id", "is_reserve")
    )
    wishes: dict[int, tuple[list[int], list[int]]] = {}
    for member, line, is_reserve in rows.iterator(chunk_size=5000):
        wishes.setdefault(member, ([], []))[is_reserve].append(line)
    return wishes


def _members(
    round: Round,
    people: dict[int, Person],
    wishes: dict[int, tuple[list[int], list[int]]],
    numbers: dict[int, str],
    against: dict[str, dict[str, int]],
) -> tuple[Member, ...]:
    """Return the members with their lists; of a line that is barred since, no more than is promised.

    `against` counts the promises that stand against a bar, by member and line.
    """
    lots_given = lots_given_by_member(round)
    members = []
    for person in sorted(people.values(), key=lambda person: person.number.encode()):
        allowance = allowance_from(round, lots_given.get(person.pk, 0), person.country)
        listed = wishes.get(person.pk, ((), ()))
        room = against.get(person.number, {}).copy()
        main, reserve = ([numbers[line] for line in some] for some in listed)
        if room:
            main, reserve = _no_more(main, room), _no_more(reserve, room)
        members.append(
            Member(
                number=person.number,
                tier=0 if allowance.is_donor else 1,
                allowance=allowance.packets,
                main=tuple(main),
                reserve=tuple(reserve),
                # A household's name is a family's name, and the inputs are published.
                household=f"household {person.household_id}" if person.household_id else "",
            )
        )
    return tuple(members)


def _no_more(lines: Iterable[str], room: dict[str, int]) -> list[str]:
    left = []
    for line in lines:
        if line in room:
            room[line] -= 1
        if room.get(line, 0) >= 0:
            left.append(line)
    return left


def _lines(
    round: Round, lines: Sequence[ListLine], promises: Sequence[ParcelItem]
) -> tuple[Line, ...]:
    stock = stock_of(lines)
    kept: dict[int, int] = {}
    for item in promises:
        kept[item.line_id] = kept.get(item.line_id, 0) + 1
    return tuple(
        Line(
            number=str(line.line_number),
            stock=kept.get(line.pk, 0) if line.withdrawn_reason else stock[line.pk].packets,
            copies=round.copies_per_line,
            withdrawn=bool(line.withdrawn_reason),
        )
        for line in lines
    )


def _bars(
    barred: dict[tuple[int, str], str],
    people: dict[int, Person],
    wishes: dict[int, tuple[list[int], list[int]]],
    numbers: dict[int, str],
) -> tuple[Bar, ...]:
    """Return the bars that meet a wish; the others would change nothing and fill the file."""
    bars = [
        Bar(person.number, numbers[line], barred[line, person.country])
        for key, person in people.items()
        for line in {line for phase in wishes.get(key, ()) for line in phase}
        if (line, person.country) in barred
    ]
    return tuple(sorted(bars, key=lambda bar: (bar.member.encode(), bar.line.encode())))
