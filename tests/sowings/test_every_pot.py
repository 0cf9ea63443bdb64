"""Each pot of a sowing can be counted by each way in, not the first alone."""

import uuid

import pytest

from crosses.base.clock import now
from seedbank.sowings.models import Sowing
from tests.factories.sowings import SOWN_ON, make_sowing, packet_in_hand

pytestmark = pytest.mark.django_db
DAY = SOWN_ON.replace(day=28).isoformat()


@pytest.fixture
def sowing(tansy) -> Sowing:
    packet = packet_in_hand(tansy, seeds=60)
    return make_sowing(tansy, packet, replicate_seeds=[20, 20, 20], seeds_sown=60)


def by_page(client, sowing, pot):
    typed = {"replicate": pot.pk, "counted_on": DAY, "number": 3, "typed_as": "new"}
    assert client.post(f"/sowings/{sowing.number}/counts/", typed).status_code == 302


def from_a_device(client, sowing, pot):
    entry = {
        "entry": "count", "about": sowing.number, "client_key": uuid.uuid4(), "logged_at": now().isoformat(),
        "member": sowing.grower.number,
    }  # fmt: skip
    typed = {"replicate": pot.pk, "counted_on": DAY, "number": 3, "typed_as": "new"}
    assert client.post("/offline/entry/", entry | typed).json()["outcome"] == "done"


def from_the_grid(client, sowing, pot):
    typed = {"counted_on": DAY, "typed_as": "new", f"pot-{pot.pk}-number": 3}
    assert client.post("/sowings/counts/", typed).status_code == 302


def by_script(client, sowing, pot):
    sent = {"pot": pot.position, "counted_on": DAY, "number": 3, "typed_as": "new"}
    answer = client.post(
        f"/api/v1/sowings/{sowing.number}/counts/",
        sent,
        content_type="application/json",
        headers={"Idempotency-Key": f"pot {pot.position}"},
    )
    assert answer.status_code == 201, answer.content


@pytest.mark.parametrize("position", [1, 2, 3])
@pytest.mark.parametrize("count", [by_page, from_a_device, from_the_grid, by_script])
def test_a_pot_is_counted_wherever_it_stands(sowing, tansy, signed_in, count, position):
    pot = sowing.replicates.get(position=position)
    count(signed_in(tansy), sowing, pot)
    told = sowing.replicates.order_by("position").values_list("germinated", flat=True)
    assert list(told) == [3 if place == position else 0 for place in (1, 2, 3)]
