"""The administrator looks at the exchange and changes none of it."""

import pytest
from django.urls import reverse

from seedbank.exchange.models import AllocationRun, ListLine, Parcel, Round, WishList
from tests.factories.exchange import announced, listed_round, stored_lot, wish
from tests.factories.members import MemberFactory

pytestmark = pytest.mark.django_db

RECORDS = [Round, ListLine, WishList, AllocationRun, Parcel]


@pytest.fixture
def found(ignatius):
    found = listed_round(ignatius, stored_lot("Primula a", 9))
    for member in MemberFactory.create_batch(8):
        wish(found, member, 1)
    return announced(found, ignatius)


@pytest.mark.parametrize("record", RECORDS)
def test_every_list_opens_is_searched_and_stays_cheap(
    record, found, solveig, signed_in, django_assert_max_num_queries
):
    client = signed_in(solveig)
    address = reverse(f"admin:exchange_{record._meta.model_name}_changelist")
    with django_assert_max_num_queries(12):
        assert client.get(address).status_code == 200
    assert client.get(address, {"q": "seed"}).status_code == 200


@pytest.mark.parametrize("record", RECORDS)
def test_a_record_is_read_and_not_changed(record, found, solveig, signed_in):
    client = signed_in(solveig)
    address = reverse(
        f"admin:exchange_{record._meta.model_name}_change", args=[record.objects.first().pk]
    )
    assert client.get(address).status_code == 200
    assert client.post(address, {"name": "x"}).status_code == 403


def test_the_secret_of_a_draw_is_on_no_page_of_the_desk(found, solveig, signed_in):
    client, name = signed_in(solveig), "admin:exchange_round"
    for address in (
        reverse(f"{name}_changelist"),
        reverse(f"{name}_change", args=[found.pk]),
        reverse(f"{name}_history", args=[found.pk]),
    ):
        assert found.draw_secret not in client.get(address).text
