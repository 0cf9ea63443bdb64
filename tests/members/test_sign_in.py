"""Signing in, choosing a password, and waiting after too many wrong tries."""

import re

import pytest
from django.core import mail
from django.test import Client
from django.urls import reverse

from seedbank.members.actions.member import invite
from seedbank.members.models import Member

pytestmark = pytest.mark.django_db

PASSWORD = "a long enough word"


def sign_in(email: str, password: str, **extra: str):
    return Client().post(reverse("sign-in"), {"username": email, "password": password}, **extra)


def link_in(message) -> str:
    return re.search(r"https?://[^/]+(/\S+)", message.body).group(1)


def test_a_member_signs_in_with_the_e_mail_in_any_case(tansy):
    assert sign_in("Tansy@Example.org", PASSWORD).status_code == 302


def test_a_wrong_password_is_told_in_words(tansy):
    answer = sign_in("tansy@example.org", "wrong")
    assert answer.status_code == 200
    assert "do not go together" in answer.text


def test_after_five_wrong_tries_even_the_right_password_waits(tansy):
    for _ in range(5):
        sign_in("tansy@example.org", "wrong")
    answer = sign_in("TANSY@example.org", PASSWORD)
    assert answer.status_code == 200
    assert "Wait a quarter of an hour" in answer.text


def test_the_wait_ends_after_a_quarter_of_an_hour(tansy, time_machine):
    time_machine.move_to("2026-05-20 12:00")
    for _ in range(5):
        sign_in("tansy@example.org", "wrong")
    time_machine.move_to("2026-05-20 12:16")
    assert sign_in("tansy@example.org", PASSWORD).status_code == 302


def test_wrong_tries_elsewhere_or_for_others_make_nobody_wait(tansy, cosmo):
    for _ in range(5):
        sign_in("tansy@example.org", "wrong")
    assert sign_in("cosmo@example.org", PASSWORD).status_code == 302
    assert sign_in("tansy@example.org", PASSWORD, REMOTE_ADDR="192.0.2.7").status_code == 302


def test_signing_in_forgets_the_wrong_tries_before(tansy):
    for _ in range(4):
        sign_in("tansy@example.org", "wrong")
    assert sign_in("tansy@example.org", PASSWORD).status_code == 302
    for _ in range(4):
        sign_in("tansy@example.org", "wrong")
    assert sign_in("tansy@example.org", PASSWORD).status_code == 302


def test_pages_are_for_members_and_lead_others_to_sign_in(db):
    answer = Client().get(reverse("lot-list"))
    assert answer.url == f"{reverse('sign-in')}?next={reverse('lot-list')}"


@pytest.mark.parametrize("method", ["get", "post"])
def test_the_admin_has_no_door_of_its_own_to_guess_at(solveig, method):
    typed = {"username": "solveig@example.org", "password": PASSWORD}
    client = Client()
    answer = getattr(client, method)("/admin/login/?next=/admin/", typed)
    assert answer.status_code == 302
    assert answer.url.startswith(f"{reverse('sign-in')}?next=")
    assert client.get("/admin/").status_code == 302


def test_who_has_no_business_in_the_admin_is_told_so(tansy, signed_in):
    assert signed_in(tansy).get("/admin/", follow=True).status_code == 403


def test_a_password_is_changed_at_one_place_only(solveig, signed_in):
    assert signed_in(solveig).get("/admin/password_change/").url == reverse("password-change")


def test_signing_out_takes_a_press_not_a_link(tansy, signed_in):
    client = signed_in(tansy)
    assert client.get(reverse("sign-out")).status_code == 405
    client.post(reverse("sign-out"))
    assert client.get(reverse("profile")).status_code == 302


def test_a_new_password_is_chosen_by_the_mailed_link(tansy):
    client = Client()
    client.post(reverse("password-reset"), {"email": "TANSY@example.org"})
    page = client.get(link_in(mail.outbox[0]), follow=True)
    answer = client.post(
        page.request["PATH_INFO"],
        {"new_password1": "seven yellow primroses", "new_password2": "seven yellow primroses"},
    )
    assert answer.url == reverse("home")
    assert sign_in("tansy@example.org", "seven yellow primroses").status_code == 302


def test_nobody_learns_whether_an_e_mail_is_a_members(tansy):
    known = Client().post(reverse("password-reset"), {"email": "tansy@example.org"})
    unknown = Client().post(reverse("password-reset"), {"email": "nobody@example.org"})
    assert (known.status_code, known.url) == (unknown.status_code, unknown.url)
    assert len(mail.outbox) == 1


def test_an_invited_member_chooses_a_password_and_is_in(
    solveig, settings, django_capture_on_commit_callbacks
):
    settings.SITE_ADDRESS = "https://seed.example.org"
    new = Member(number="0042", name="Perpetua Loam", email="perpetua@example.org", country="IE")
    with django_capture_on_commit_callbacks(execute=True):
        invite(member=new, by=solveig)
    assert mail.outbox[0].to == ["perpetua@example.org"]
    assert "https://seed.example.org/password/new/" in mail.outbox[0].body
    client = Client()
    page = client.get(link_in(mail.outbox[0]), follow=True)
    client.post(
        page.request["PATH_INFO"],
        {"new_password1": "seven yellow primroses", "new_password2": "seven yellow primroses"},
    )
    assert client.get(reverse("profile")).status_code == 200
    assert new.history.last().history_user == solveig


def test_an_invitation_that_was_lost_can_be_asked_for_again(
    solveig, django_capture_on_commit_callbacks
):
    new = Member(number="0042", name="Perpetua Loam", email="perpetua@example.org", country="IE")
    with django_capture_on_commit_callbacks():
        invite(member=new, by=solveig)
    Client().post(reverse("password-reset"), {"email": "perpetua@example.org"})
    assert len(mail.outbox) == 1


def test_who_left_the_society_gets_no_link(tansy):
    tansy.is_active = False
    tansy.save()
    Client().post(reverse("password-reset"), {"email": "tansy@example.org"})
    assert mail.outbox == []


def test_signing_in_writes_no_line_of_history(tansy):
    before = tansy.history.count()
    sign_in("tansy@example.org", PASSWORD)
    assert tansy.history.count() == before
