"""One society in which every page of the site has something to show."""

from typing import Any

from django.contrib.auth.tokens import default_token_generator
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse
from django.utils.encoding import force_bytes
from django.utils.http import urlsafe_base64_encode

from crosses.actions.harvest import log_harvest
from crosses.models import Check, Cross, Pollination
from seedbank.bank.actions.caution import add_rule
from seedbank.bank.models import Lot
from seedbank.exchange.access import report_signature
from seedbank.exchange.actions.picking import take_in_hand
from seedbank.exchange.actions.wishes import save_wishes
from seedbank.exchange.models import CustomsWords, Parcel
from seedbank.jobs.models import Job
from seedbank.members.models import Member
from seedbank.sowings.actions.sowing import close_sowing, sow
from seedbank.sowings.models import Count
from seedbank.transfer.models import Import
from tests.browser.scene import (
    announced_round,
    days_ago,
    grown_and_given,
    round_of,
    store_of_lots,
)
from tests.factories.bank import PlaceFactory
from tests.factories.members import AddressFactory

Where = dict[str, dict[str, Any]]


def society(tansy: Member, ignatius: Member, hettie: Member) -> Where:
    """Set the society up and return what stands in the address of each page."""
    return {
        **_grown(tansy),
        **_exchanged(tansy, ignatius, hettie),
        **_kept(ignatius),
        **_brought_in(tansy),
        "job": {
            "key": Job.objects.create(
                kind="slips", title="Slips", asked_by=tansy, asked_at=days_ago(0)
            ).pk
        },
        "import_kind": {"name": "plants"},
        "reset": {
            "uidb64": urlsafe_base64_encode(force_bytes(tansy.pk)),
            "token": default_token_generator.make_token(tansy),
        },
    }


def _grown(grower: Member) -> Where:
    year = grown_and_given(grower)
    cross = Cross.objects.get(number=year.cross)
    check = Check.objects.filter(pollination__number=year.flower).get()
    flower = Pollination.objects.get(number=year.flower)
    harvest = log_harvest(
        cross=cross,
        by=grower,
        at=days_ago(30),
        harvested_on=days_ago(30).date(),
        capsules=[(flower, 1)],
        seed_counting="counted",
        seeds=30,
    )
    others = Lot.objects.get(number=year.lot).packets.exclude(number=year.packet)
    second, third = others.order_by("pk")
    closed = sow(
        packet=second,
        grower=grower,
        by=grower,
        at=days_ago(40),
        sown_on=days_ago(40).date(),
        seeds_sown=20,
    )
    close_sowing(sowing=closed, by=grower, at=days_ago(3), closed_on=days_ago(3).date())
    count = Count.objects.order_by("pk").last()
    return {
        **{
            name: {"number": getattr(year, name)}
            for name in ("plant", "cross", "flower", "harvest")
        },
        **{
            name: {"number": getattr(year, name)}
            for name in ("lot", "packet", "sowing", "donation")
        },
        "full_packet": {"number": third.number},
        "other_harvest": {"number": harvest.number},
        "flower_and_check": {"number": year.flower, "check_id": check.pk},
        "closed_sowing": {"number": closed.number},
        "sowing_and_count": {"number": year.sowing, "key": count.pk},
    }


def _exchanged(member: Member, keeper: Member, packer: Member) -> Where:
    AddressFactory(member=member)
    lots = store_of_lots(keeper, "Primula allionii", "Primula veris")
    found = announced_round(keeper, lots, {member: [1, 2]})
    parcel = Parcel.objects.get(member=member)
    take_in_hand(parcel=parcel, by=packer, at=days_ago(1))
    asked = round_of(
        keeper, store_of_lots(keeper, "Primula elatior"), opened=2, closed=-7, slug="open-round"
    )
    save_wishes(round=asked, member=member, by=member, at=days_ago(1), main=[1], reserve=())
    return {
        "open_round": {"slug": asked.slug},
        "announced_round": {"slug": found.slug},
        "line": {"slug": asked.slug, "line_number": 1},
        "round_and_member": {"slug": asked.slug, "member_number": member.number},
        "result_and_member": {"slug": found.slug, "member_number": member.number},
        "parcel": {"number": parcel.number},
        "slip_code": {"number": parcel.number, "signature": report_signature(parcel.number)},
        "parcel_and_item": {"number": parcel.number, "key": parcel.items.first().pk},
    }


def _brought_in(member: Member) -> Where:
    client = Client()
    client.force_login(member)
    file = SimpleUploadedFile("plants.csv", b"number,name\nQ1,Primula 'Nettlemere Sulk'\n")
    client.post(reverse("import-table", args=["plants"]), {"table": file})
    return {"brought_file": {"token": Import.objects.get().token}}


def _kept(keeper: Member) -> Where:
    rule = add_rule(
        by=keeper,
        rule="Nonesuch: lilies",
        kind="prohibited_genus",
        level="ask",
        words="Ask the ministry of Nonesuch.",
        source="invented",
        checked_on=days_ago(90).date(),
        checked_by="S. Umbrage",
        genera=["Lilium"],
        label_words="Ask before it goes to Nonesuch.",
    )
    # Those that come with the service may be here, or emptied with another test's records.
    words, _ = CustomsWords.objects.get_or_create(
        country="",
        defaults={
            "contents": "Seeds of garden plants",
            "ticked": CustomsWords.Ticked.values[0],
            "value_per_packet": 1,
            "currency": "GBP",
            "source": "invented",
            "checked_on": days_ago(90).date(),
            "checked_by": "S. Umbrage",
        },
    )
    return {
        "place": {"key": PlaceFactory().pk},
        "caution": {"key": rule.pk},
        "customs": {"key": words.pk},
    }
