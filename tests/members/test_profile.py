"""One's own page: facts, address, keys to the API."""

import pytest
from django.urls import reverse

from seedbank.members.access import address_for
from seedbank.members.actions.token import member_of_token
from seedbank.members.models import Address, ApiToken
from tests.factories.members import AddressFactory

pytestmark = pytest.mark.django_db


def test_a_member_writes_down_their_address(rollo, signed_in):
    signed_in(rollo).post(
        reverse("profile-address"),
        {"lines": " 7 Billabong Rise \r\n\r\nWombat Flat  3999", "country": "NZ"},
    )
    address = Address.objects.get(member=rollo)
    assert address.lines == "7 Billabong Rise\nWombat Flat  3999"
    rollo.refresh_from_db()
    assert rollo.country == "NZ"


def test_an_empty_address_is_told_at_its_field(rollo, signed_in):
    answer = signed_in(rollo).post(reverse("profile-address"), {"lines": "  ", "country": "NZ"})
    assert "lines" in answer.context["form"].errors
    assert not Address.objects.exists()


@pytest.mark.parametrize(
    ("who", "in_hand", "sees"),
    [
        ("rollo", False, True),
        ("ignatius", False, True),
        ("hettie", True, True),
        ("hettie", False, False),
        ("tansy", False, False),
    ],
)
def test_an_address_is_seen_by_its_owner_the_keeper_and_who_packs_the_parcel(
    rollo, ignatius, hettie, tansy, who, in_hand, sees
):
    AddressFactory(member=rollo)
    people = {"rollo": rollo, "ignatius": ignatius, "hettie": hettie, "tansy": tansy}
    assert (address_for(people[who], rollo, may=in_hand) is not None) is sees


def test_a_key_is_shown_once_and_opens_the_api(wilhelmina, signed_in, at):
    client = signed_in(wilhelmina)
    answer = client.post(reverse("token-add"), {"name": "notebook", "days": 90, "scope": "read"})
    secret = answer.context["secret"]
    assert secret in answer.text
    assert "no-store" in answer["Cache-Control"]
    assert secret not in client.get(reverse("profile")).text
    token = ApiToken.objects.get()
    assert secret not in token.digest
    assert member_of_token(secret, at=token.created_at).member == wilhelmina


def test_a_revoked_key_opens_nothing(wilhelmina, signed_in):
    client = signed_in(wilhelmina)
    secret = client.post(
        reverse("token-add"), {"name": "notebook", "days": 90, "scope": "read"}
    ).context["secret"]
    token = ApiToken.objects.get()
    client.post(reverse("token-revoke", args=[token.pk]))
    assert member_of_token(secret, at=token.created_at) is None


def test_anothers_key_is_nowhere(wilhelmina, tansy, signed_in):
    signed_in(wilhelmina).post(
        reverse("token-add"), {"name": "notebook", "days": 90, "scope": "read"}
    )
    token = ApiToken.objects.get()
    assert signed_in(tansy).post(reverse("token-revoke", args=[token.pk])).status_code == 404
    assert "notebook" not in signed_in(tansy).get(reverse("profile")).text
    token.refresh_from_db()
    assert token.revoked_at is None


@pytest.mark.parametrize("days", ["0", "400", "soon"])
def test_a_key_that_lives_too_long_is_told_at_its_field(wilhelmina, signed_in, days):
    answer = signed_in(wilhelmina).post(
        reverse("token-add"), {"name": "notebook", "days": days, "scope": "read"}
    )
    assert "days" in answer.context["form"].errors
    assert "notebook" in answer.text
    assert not ApiToken.objects.exists()
