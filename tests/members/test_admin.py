"""The administrator's desk: invite, give roles, revoke keys; never an address, never a digest."""

import datetime

import pytest
from django.core import mail
from django.urls import reverse

from seedbank.members.actions.token import make_token
from seedbank.members.models import Household, Member
from tests.factories.members import AddressFactory, MemberFactory

pytestmark = pytest.mark.django_db


def member_fields(**changes):
    return {
        "number": "0042",
        "name": "Perpetua Loam",
        "email": "perpetua@example.org",
        "country": "IE",
        "language": "en",
        "is_active": "on",
    } | changes


def test_adding_a_member_mails_the_invitation(
    solveig, signed_in, django_capture_on_commit_callbacks
):
    with django_capture_on_commit_callbacks(execute=True):
        signed_in(solveig).post(reverse("admin:members_member_add"), member_fields())
    member = Member.objects.get(number="0042")
    assert not member.has_usable_password()
    assert member.history.get().history_user == solveig
    assert [message.to for message in mail.outbox] == [["perpetua@example.org"]]


def test_changing_a_member_keeps_the_password_and_the_history(solveig, tansy, signed_in):
    password = tansy.password
    fields = member_fields(number="0001", name="Tansy Oddwater-Reed", email="tansy@example.org")
    signed_in(solveig).post(reverse("admin:members_member_change", args=[tansy.pk]), fields)
    tansy.refresh_from_db()
    assert (tansy.name, tansy.password) == ("Tansy Oddwater-Reed", password)
    assert tansy.history.first().history_user == solveig
    assert mail.outbox == []


def test_roles_are_given_from_the_list(solveig, tansy, signed_in):
    signed_in(solveig).post(
        reverse("admin:members_member_changelist"),
        {"action": "make_keepers", "_selected_action": [tansy.pk]},
    )
    assert Member.objects.get(pk=tansy.pk).is_keeper


def test_an_address_is_on_no_page_of_the_desk(solveig, tansy, signed_in):
    AddressFactory(member=tansy, lines="1 Secret Lane")
    client = signed_in(solveig)
    for url in (
        reverse("admin:members_member_changelist"),
        reverse("admin:members_member_change", args=[tansy.pk]),
        reverse("admin:index"),
    ):
        page = client.get(url).text
        assert "Secret Lane" not in page
        assert "members/address" not in page


def test_a_keys_digest_is_on_no_page_of_the_desk(solveig, tansy, at, signed_in):
    token, _secret = make_token(
        member=tansy, name="notebook", at=at, life=datetime.timedelta(days=9)
    )
    client = signed_in(solveig)
    for url in (
        reverse("admin:members_apitoken_changelist"),
        reverse("admin:members_apitoken_change", args=[token.pk]),
    ):
        page = client.get(url)
        assert page.status_code == 200
        assert token.hint in page.text
        assert token.digest not in page.text


def test_the_administrator_revokes_a_key(solveig, tansy, at, signed_in):
    token, _secret = make_token(
        member=tansy, name="notebook", at=at, life=datetime.timedelta(days=9)
    )
    signed_in(solveig).post(
        reverse("admin:members_apitoken_changelist"),
        {"action": "revoke", "_selected_action": [token.pk]},
    )
    token.refresh_from_db()
    assert token.revoked_at is not None


def test_nobody_is_deleted(solveig, tansy, signed_in):
    assert (
        signed_in(solveig).get(reverse("admin:members_member_delete", args=[tansy.pk])).status_code
        == 403
    )


def test_the_desk_is_for_administrators(ignatius, signed_in):
    assert signed_in(ignatius).get(reverse("admin:index")).status_code == 302


def test_the_lists_cost_no_more_for_more_members(solveig, signed_in, django_assert_max_num_queries):
    for number in range(20):
        MemberFactory(household=Household.objects.create(name=f"House {number}"))
    client = signed_in(solveig)
    for page in ("member", "household"):
        with django_assert_max_num_queries(12):
            assert client.get(reverse(f"admin:members_{page}_changelist")).status_code == 200
