"""What a member's device keeps to read without a signal: their own records and nothing of others."""

import datetime
from typing import Any

from django.conf import settings

from crosses.access import crosses_visible_to, plants_visible_to
from crosses.models import Harvest
from crosses.queries.seasons import suggested_own_number
from crosses.queries.watch import Watched
from crosses.queries.written import cross_formula
from seedbank.bank.access import packets_visible_to
from seedbank.bank.models import Lot
from seedbank.bank.queries import divided, places_to_suggest
from seedbank.members.models import Member
from seedbank.sowings.queries.pages import packets_to_sow, pots_to_count
from seedbank.web.bench_queries import Bench, bench_of
from seedbank.web.templatetags.trade import day

MOST_PLANTS = 3000
MOST_CROSSES = 1000


def device_copy(member: Member, today: datetime.date, at: datetime.datetime) -> dict[str, Any]:
    """Return the copy as plain values, names as they are written on labels."""
    bench = bench_of(member, today, at)
    groups = (
        ("now", bench.watch.now),
        ("seen", bench.watch.seen_today),
        ("later", bench.watch.later),
    )
    return {
        "made_at": at,
        "member": {"number": member.number, "name": member.name},
        "time_zone": settings.TIME_ZONE,
        "season": today.year,
        "next_own_number": suggested_own_number(member, today.year),
        "flowers": [_flower(watched, group) for group, rows in groups for watched in rows],
        "to_do": _to_do(bench),
        "packets": packets_to_sow(member, packets_visible_to(member)),
        "places": [place.name or place.code for place in places_to_suggest(member)],
        "pots": [_pot(pot) for pot in pots_to_count(member, today)],
        "plants": list(
            plants_visible_to(member)
            .filter(keeper=member, died_on=None, withdrawn_at=None)
            .order_by("-pk")
            .values("number", "name_text", "own_label")[:MOST_PLANTS]
        ),
        "crosses": _crosses(member),
    }


def _flower(watched: Watched, group: str) -> dict[str, Any]:
    row, flower = watched.row, watched.row.pollination
    split = ""
    if row.outlook.split_by_10_on:
        split = f"{day(row.outlook.split_by_10_on)} to {day(row.outlook.split_by_90_on)}"
    return {
        "number": flower.number,
        "group": group,
        "cross": flower.cross.number,
        "own_number": flower.cross.own_number,
        "formula": row.formula,
        "pollinated_on": day(flower.pollinated_on),
        "flowers": flower.flowers,
        "state": flower.state,
        "state_words": flower.get_state_display(),
        "sentence": row.state.sentence,
        "open_flowers": row.state.open_flowers,
        "why": watched.why,
        "split": split,
        "basis": row.outlook.basis if split else row.outlook.why_not,
    }


def _to_do(bench: Bench) -> list[dict[str, Any]]:
    """What else stands on the bench: which form it wants, about what, and what is in it already."""
    return [
        *(
            _task("packets", harvest.number, f"Clean: {name}", harvest, {"name_text": name})
            for harvest, name in bench.to_clean
        ),
        *(
            _task("lot-packets", lot.number, f"Pack: {lot.name_text}", lot, {})
            for lot in bench.to_pack
        ),
        *(
            {
                "kind": "sowing",
                "about": lot.number,
                "words": f"Sow: {lot.name_text}",
                "fields": {"packet": getattr(lot, "first_packet", "")},
            }
            for lot in bench.to_sow
        ),
    ]


def _task(
    kind: str, number: str, words: str, seed: Harvest | Lot, fields: dict[str, Any]
) -> dict[str, Any]:
    plan = divided(seed)
    if plan:
        fields = fields | {"how_many": plan.packets, "seeds_each": plan.seeds_per_packet}
    return {"kind": kind, "about": number, "words": words, "fields": fields}


def _pot(pot: Any) -> dict[str, Any]:
    return {
        "replicate": pot.pk,
        "sowing": pot.sowing.number,
        "position": pot.position,
        "name": pot.sowing.packet.lot.name_text,
        "seeds": pot.seeds,
        "germinated": pot.germinated,
        "last_look": day(pot.last_look),
    }


def _crosses(member: Member) -> list[dict[str, Any]]:
    crosses = (
        crosses_visible_to(member)
        .filter(grower=member, withdrawn_at=None)
        .select_related("seed_parent", "pollen_parent")
        .prefetch_related("pollen_shares__plant")
        .order_by("-season", "-pk")[:MOST_CROSSES]
    )
    return [
        {
            "number": cross.number,
            "own_number": cross.own_number,
            "season": cross.season,
            "pollen": cross.pollen,
            "formula": cross_formula(cross),
            "seed_parent": cross.seed_parent.number,
            "pollen_parent": cross.pollen_parent.number if cross.pollen_parent else "",
        }
        for cross in crosses
    ]
