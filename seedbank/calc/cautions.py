"""What to ask before a parcel is posted: rules as data, each with its source and date.

A rule reminds and asks. It never clears a parcel: where none matches, all that is known is that
no rule in this list matched. The national authority decides, and the standing line says so.
"""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from math import ceil

from crosses.calc.errors import BadInput

STANDING_LINE = (
    "This is a reminder, not legal advice. Rules change and depend on the plant, its origin and the"
    " destination. The sender and the person receiving the seed must check with the plant health"
    " authority of the destination before posting."
)

LEVELS = ("caution", "ask", "hold")
"""How far a caution goes: read it; ask before posting; a named person must give a reason."""

KINDS = (
    "small_lots",
    "certificate",
    "import_permit",
    "parentage",
    "species_needed",
    "protected",
    "prohibited_genus",
    "poisonous",
    "wild_collected",
)

AT_HOME_TOO = frozenset({"poisonous", "prohibited_genus"})
"""Kinds that matter within a country; all others are for parcels that cross a border."""

NAGOYA_IN_FORCE = date(2014, 10, 12)
"""The day the Nagoya Protocol came into force."""


@dataclass(frozen=True, slots=True)
class PacketFacts:
    """What is known of one packet.

    `other_genera` are those of its ancestors; a rule about a genus is about them too.
    `species` is the epithet, empty if unknown or a cross. `parents_named` counts the parents of
    a hybrid that are named to the species. `seeds` and `grams` are None where not known.
    `origin_country` is an ISO 3166-1 alpha-2 code or empty.
    """

    number: str
    genus: str
    species: str = ""
    is_hybrid: bool = False
    parents_named: int = 0
    is_artificially_propagated: bool = False
    seeds: int | None = None
    grams: float | None = None
    is_wild_collected: bool = False
    collected_on: date | None = None
    has_permit: bool = False
    origin_country: str = ""
    hazard_note: str = ""
    other_genera: frozenset[str] = frozenset()

    def is_of(self, genera: frozenset[str]) -> bool:
        """Say whether it is of one of these genera, itself or by an ancestor."""
        return self.genus in genera or bool(self.other_genera & genera)


@dataclass(frozen=True, slots=True)
class ParcelFacts:
    """Where a parcel goes and comes from, ISO 3166-1 alpha-2, and what is in it."""

    destination: str
    sent_from: str
    packets: tuple[PacketFacts, ...]


@dataclass(frozen=True, slots=True)
class Rule:
    """A rule as the society keeps it.

    `destinations` empty is anywhere; a parcel from a country in `unless_from` is left alone.
    `genera` names the genera it is about, empty is all; their packets carry `label_words` on list,
    label and slip. `most_*` are the limits of small lots.
    `exempts_raised_hybrids` is for protected genera whose hybrids, raised by hand, are free.
    """

    rule: str
    kind: str
    level: str
    words: str
    source: str
    checked_on: date
    checked_by: str
    label_words: str = ""
    destinations: frozenset[str] = frozenset()
    unless_from: frozenset[str] = frozenset()
    genera: frozenset[str] = frozenset()
    most_packets: int | None = None
    most_seeds: int | None = None
    most_grams: float | None = None
    exempts_raised_hybrids: bool = False


@dataclass(frozen=True, slots=True)
class Caution:
    """A rule that matched: what it says, what was found, and the packets it is about."""

    rule: str
    level: str
    words: str
    finding: str
    source: str
    checked_on: date
    checked_by: str
    packets: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class _Finding:
    level: str
    words: str
    packets: tuple[str, ...]


def find_cautions(parcel: ParcelFacts, rules: Iterable[Rule]) -> list[Caution]:
    """Return what the rules have to say about a parcel, gravest first.

    An empty list is no leave to post: show `summary` beside it.

    Raises
    ------
    BadInput
        If the destination or the sender's country is not a two-letter code.
    """
    for code, field in ((parcel.destination, "destination"), (parcel.sent_from, "sent_from")):
        if len(code) != 2 or not (code.isascii() and code.isupper()):
            raise BadInput(f"{code!r} is not a two-letter country code.", field=field)
    found = [
        Caution(
            rule=rule.rule,
            level=finding.level,
            words=rule.words,
            finding=finding.words,
            source=rule.source,
            checked_on=rule.checked_on,
            checked_by=rule.checked_by,
            packets=finding.packets,
        )
        for rule in rules
        if _concerns(rule, parcel)
        for finding in _FIND[rule.kind](rule, _of_genera(rule, parcel.packets), parcel)
    ]
    return sorted(found, key=lambda caution: -LEVELS.index(caution.level))


def summary(cautions: Sequence[Caution], rules: Sequence[Rule]) -> str:
    """Return how many rules of the list matched, followed by the standing line.

    Examples
    --------
    >>> summary([], []).startswith("No rule in this list matched (0 rules looked at).")
    True
    """
    matched = len({caution.rule for caution in cautions})
    said = (
        f"{matched} of the rules in this list matched"
        if matched
        else "No rule in this list matched"
    )
    return f"{said} ({len(rules)} rules looked at). {STANDING_LINE}"


def _concerns(rule: Rule, parcel: ParcelFacts) -> bool:
    if rule.destinations and parcel.destination not in rule.destinations:
        return False
    if parcel.sent_from in rule.unless_from:
        return False
    return rule.kind in AT_HOME_TOO or parcel.destination != parcel.sent_from


def _of_genera(rule: Rule, packets: Sequence[PacketFacts]) -> list[PacketFacts]:
    if not rule.genera:
        return list(packets)
    return [packet for packet in packets if packet.is_of(rule.genera)]


def _numbers(packets: Iterable[PacketFacts]) -> tuple[str, ...]:
    return tuple(packet.number for packet in packets)


def _count(packets: Sequence[PacketFacts]) -> str:
    return "1 packet" if len(packets) == 1 else f"{len(packets)} packets"


def _small_lots(rule: Rule, packets: list[PacketFacts], _parcel: ParcelFacts) -> list[_Finding]:
    """Hold what is over both limits of a packet or over that of a parcel; ask what is not known.

    One limit kept is enough: few seeds may be heavy, many may be dust.
    """
    most_packets, most_seeds, most_grams = rule.most_packets, rule.most_seeds, rule.most_grams
    if most_packets is None or most_seeds is None or most_grams is None:
        raise BadInput(f"Rule {rule.rule} needs all three limits.", field="most_packets")
    limits = f"{most_seeds} seeds and {most_grams:g} g"
    over: list[PacketFacts] = []
    unknown: list[PacketFacts] = []
    for packet in packets:
        if packet.seeds is not None and packet.seeds <= most_seeds:
            continue
        if packet.grams is not None and packet.grams <= most_grams:
            continue
        (unknown if packet.seeds is None or packet.grams is None else over).append(packet)
    found = []
    if over:
        found.append(_Finding(rule.level, f"{_count(over)} over {limits}.", _numbers(over)))
    if unknown:
        words = f"{_count(unknown)} not known to keep to {limits}: count or weigh first."
        found.append(_Finding("ask", words, _numbers(unknown)))
    if len(packets) > most_packets:
        shipments = ceil(len(packets) / most_packets)
        words = f"{_count(packets)}, at most {most_packets} a shipment: make {shipments} shipments."
        found.append(_Finding(rule.level, words, _numbers(packets)))
    return found


def _every(rule: Rule, packets: list[PacketFacts], _parcel: ParcelFacts) -> list[_Finding]:
    if not packets:
        return []
    return [_Finding(rule.level, f"It concerns {_count(packets)}.", _numbers(packets))]


def _parentage(rule: Rule, packets: list[PacketFacts], _parcel: ParcelFacts) -> list[_Finding]:
    half_known = [packet for packet in packets if packet.is_hybrid and packet.parents_named < 2]
    if not half_known:
        return []
    words = (
        f"{_count(half_known)} of hybrid seed without full parentage: both parents to the species."
    )
    return [_Finding(rule.level, words, _numbers(half_known))]


def _species_needed(rule: Rule, packets: list[PacketFacts], _parcel: ParcelFacts) -> list[_Finding]:
    unnamed = [packet for packet in packets if not packet.species and not packet.is_hybrid]
    if not unnamed:
        return []
    return [_Finding(rule.level, f"{_count(unnamed)} named to the genus only.", _numbers(unnamed))]


def _protected(rule: Rule, packets: list[PacketFacts], _parcel: ParcelFacts) -> list[_Finding]:
    raised = [
        packet
        for packet in packets
        if rule.exempts_raised_hybrids and packet.is_hybrid and packet.is_artificially_propagated
    ]
    rest = [packet for packet in packets if packet not in raised]
    found = _every(rule, rest, _parcel)
    if raised:
        words = f"{_count(raised)} of hybrids raised by hand, which are exempt: say so on the list."
        found.append(_Finding("caution", words, _numbers(raised)))
    return found


def _poisonous(rule: Rule, _packets: list[PacketFacts], parcel: ParcelFacts) -> list[_Finding]:
    """Find the packets of the rule's genera, and those with a note of their own, by what is said."""
    by_note: dict[str, list[PacketFacts]] = {}
    for packet in parcel.packets:
        if packet.hazard_note:
            by_note.setdefault(packet.hazard_note, []).append(packet)
        elif packet.is_of(rule.genera):
            named = ({packet.genus} | packet.other_genera) & rule.genera
            on_list = f"{', '.join(sorted(named))}: on the list of poisonous genera."
            by_note.setdefault(on_list, []).append(packet)
    return [_Finding(rule.level, note, _numbers(packets)) for note, packets in by_note.items()]


def _wild_collected(rule: Rule, packets: list[PacketFacts], parcel: ParcelFacts) -> list[_Finding]:
    """Ask for the permit of wild seed collected abroad since the protocol, or nobody knows when."""
    doubtful = [
        packet
        for packet in packets
        if packet.is_wild_collected
        and not packet.has_permit
        and (packet.collected_on is None or packet.collected_on >= NAGOYA_IN_FORCE)
        and packet.origin_country != parcel.destination
    ]
    if not doubtful:
        return []
    words = f"{_count(doubtful)} collected in the wild without a permit or agreement on record."
    return [_Finding(rule.level, words, _numbers(doubtful))]


_FIND: dict[str, Callable[[Rule, list[PacketFacts], ParcelFacts], list[_Finding]]] = {
    "small_lots": _small_lots,
    "certificate": _every,
    "import_permit": _every,
    "parentage": _parentage,
    "species_needed": _species_needed,
    "protected": _protected,
    "prohibited_genus": _every,
    "poisonous": _poisonous,
    "wild_collected": _wild_collected,
}
