"""Who wished is told by mail what they were given, once, however often the work is taken up."""

import pytest
from django.core import mail
from django.urls import reverse

from seedbank.exchange.actions import result_mail
from seedbank.exchange.actions.allocation import announce
from seedbank.exchange.models import ParcelItem
from seedbank.jobs.models import Job
from seedbank.jobs.running import run_waiting_jobs
from tests.factories.exchange import AFTER, announced, share_out

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def own_folder(settings, tmp_path):
    settings.VAR_DIR = tmp_path


def _told_by_mail(django_capture_on_commit_callbacks):
    with django_capture_on_commit_callbacks(execute=True):
        run_waiting_jobs()
    return {message.to[0]: message for message in mail.outbox}


def test_announcing_mails_each_member_what_they_were_given_and_where_the_reasons_are(
    client, found, three, ignatius, after_closing, settings, django_capture_on_commit_callbacks
):
    share_out(found, ignatius)
    client.force_login(ignatius)
    client.post(reverse("allocation-announce", args=[found.slug]))
    told = _told_by_mail(django_capture_on_commit_callbacks)
    assert set(told) == {member.email for member in three}
    item = ParcelItem.objects.get(line__line_number=1)
    mine = told[item.parcel.member.email]
    assert "line 1  Primula a" in mine.body
    assert settings.SITE_ADDRESS + reverse("my-result", args=[found.slug]) in mine.body
    others = [told[member.email].body for member in three if member != item.parcel.member]
    assert not [body for body in others if "line 1  " in body]
    assert Job.objects.get().message == "3 members told by mail."


def test_mails_that_were_broken_off_go_on_with_the_next_and_tell_nobody_twice(
    found, three, ignatius, monkeypatch, django_capture_on_commit_callbacks
):
    monkeypatch.setattr(result_mail, "MAILS_AT_ONCE", 1)
    share_out(found, ignatius)
    announce(round=found, by=ignatius, at=AFTER, with_mail=True)
    Job.objects.update(position=1)
    told = _told_by_mail(django_capture_on_commit_callbacks)
    assert set(told) == {member.email for member in sorted(three, key=lambda m: m.number)[1:]}


def test_a_round_that_is_announced_without_mail_asks_for_none(found, three, ignatius):
    announced(found, ignatius)
    assert not Job.objects.exists()


@pytest.mark.django_db(transaction=True)
@pytest.mark.parametrize(
    ("server", "told"),
    [
        (
            "NoServer",
            "0 members told by mail. 3 mails could not be sent: see the page of mails not sent.",
        ),
        ("", "3 members told by mail."),
    ],
)
def test_what_did_not_go_is_never_said_to_have_gone(found, three, ignatius, settings, server, told):
    if server:
        settings.EMAIL_BACKEND = f"tests.members.mailboxes.{server}"
    share_out(found, ignatius)
    announce(round=found, by=ignatius, at=AFTER, with_mail=True)
    run_waiting_jobs()
    assert Job.objects.get().message == told
