"""What is written now of a flower or a sowing, in sentences, for somebody whose own copy is older."""

from crosses.models import Cross, Pollination
from crosses.queries.capsules import checks_of, state_of
from crosses.queries.harvests import flowers_to_harvest
from crosses.queries.written import cross_formula
from seedbank.bank.models import Lot
from seedbank.bank.queries import seeds_in_words
from seedbank.sowings.models import Sowing
from seedbank.sowings.queries.pages import loaded
from seedbank.web.templatetags.trade import day


def flower_as_it_stands(flower: Pollination) -> list[str]:
    said = [
        f"{flower.number}, {cross_formula(flower.cross)}, pollinated {day(flower.pollinated_on)}.",
        f"It is {flower.get_state_display()}. {state_of(flower).sentence}",
    ]
    last = checks_of(flower).filter(withdrawn_at=None).first()
    if last is not None:
        said.append(f"Last seen {day(last.seen_on)}: {last.get_kind_display()}.")
    if flower.is_withdrawn:
        said.append(_withdrawn(flower))
    return said


def sowing_as_it_stands(sowing: Sowing) -> list[str]:
    said = [f"{sowing.number}, {sowing.packet.lot.name_text}, sown {day(sowing.sown_on)}."]
    if sowing.closed_on:
        said.append(f"It was closed on {day(sowing.closed_on)}.")
    for pot in loaded(sowing).replicates.all():
        last = pot.counts.filter(withdrawn_at=None).order_by("-counted_on").first()
        looked = f", last counted {day(last.counted_on)}: {last.newly_seen} new" if last else ""
        said.append(f"Pot {pot.position}: {pot.germinated} of {pot.seeds}{looked}.")
    return said


def harvest_as_it_stands(cross: Cross) -> list[str]:
    """Which flowers of a cross can still bear a capsule, and what was taken of it already."""
    said = [
        f"{flower.number}: {still_open} of {flower.flowers} flowers can still bear a capsule."
        for flower, still_open in flowers_to_harvest(cross)
    ] or ["No flower of this cross can still bear a capsule."]
    taken = [
        f"Harvest {harvest.number} was taken {day(harvest.harvested_on)}."
        for harvest in cross.harvests.filter(withdrawn_at=None)
    ]
    return said + taken


def lot_as_it_stands(lot: Lot) -> list[str]:
    packets = lot.packets.count()
    return [
        f"{lot.number}, {lot.name_text}: {seeds_in_words(lot)}.",
        f"It is in {packets} packet{'' if packets == 1 else 's'}.",
    ]


def _withdrawn(flower: Pollination) -> str:
    by, on = flower.withdrawn_by, flower.withdrawn_at
    who = by.name if by else ""
    return f"Withdrawn {day(on.date()) if on else ''} by {who}: {flower.withdrawn_reason}"
