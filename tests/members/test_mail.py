"""Mail to members: after the act, never to who has left, and never lost without a word."""

import pytest
from django.core import mail
from django.db import transaction
from django.urls import reverse

from crosses.base.refusal import Refused
from seedbank.members.actions.mail import Letter, mail_members, send_again
from seedbank.members.actions.member import send_invitation
from seedbank.members.models import UnsentMail
from seedbank.members.queries import mail_words
from tests.members.mailboxes import FullMailbox, NoServer

pytestmark = pytest.mark.django_db


def letter(member, **changes):
    facts = {
        "subject": "Your wishes",
        "template": "registration/invitation_mail.txt",
        "context": {"path": "/rounds/seed-2026/wishes/", "days": 14},
    }
    return Letter(member=member, **facts | changes)


@pytest.fixture
def posted(django_capture_on_commit_callbacks):
    """Return a function that writes letters and lets their transaction end."""

    def post(*letters):
        with django_capture_on_commit_callbacks(execute=True):
            mail_members(*letters)

    return post


@pytest.fixture
def broken(settings):
    """Return a function that puts a mail server of one kind in place."""

    def put(kind):
        settings.EMAIL_BACKEND = f"tests.members.mailboxes.{kind.__name__}"

    return put


def test_a_letter_goes_out_in_the_societys_name_with_whole_addresses(posted, tansy, settings):
    settings.SOCIETY_NAME, settings.SITE_ADDRESS = "Primrose Friends", "https://seed.example.org"
    posted(letter(tansy))
    assert mail.outbox[0].to == ["tansy@example.org"]
    assert "welcome to Primrose Friends" in mail.outbox[0].body
    assert "https://seed.example.org/rounds/seed-2026/wishes/" in mail.outbox[0].body


def test_a_name_with_signs_stays_as_it_is_written_and_a_subject_is_one_line(posted, tansy):
    tansy.name = "Tansy O'Dwyer & <b>Reed</b>"
    posted(letter(tansy, subject="Two\r\nBcc: all@example.org"))
    assert "Dear Tansy O'Dwyer & <b>Reed</b>," in mail.outbox[0].body
    assert mail.outbox[0].subject == "Two Bcc: all@example.org"


@pytest.mark.django_db(transaction=True)
def test_nothing_is_sent_for_an_act_that_is_undone(tansy):
    with transaction.atomic():
        mail_members(letter(tansy))
        transaction.set_rollback(True)
    assert mail.outbox == []


def test_who_has_left_the_society_gets_no_mail(posted, tansy, cosmo):
    tansy.is_active = False
    posted(letter(tansy), letter(cosmo))
    assert [message.to for message in mail.outbox] == [["cosmo@example.org"]]


def test_one_full_mailbox_keeps_no_letter_from_the_others(posted, broken, tansy, cosmo, caplog):
    broken(FullMailbox)
    posted(letter(tansy), letter(cosmo))
    assert [message.to for message in mail.outbox] == [["cosmo@example.org"]]
    kept = UnsentMail.objects.get()
    assert (kept.member, kept.subject) == (tansy, "Your wishes")
    assert "mailbox full" in kept.failure
    assert "A mail to member 0001 was not sent" in caplog.text


def test_without_a_server_every_letter_is_kept(posted, broken, tansy, cosmo):
    broken(NoServer)
    posted(letter(tansy), letter(cosmo))
    assert UnsentMail.objects.filter(failure__contains="refused").count() == 2


def test_the_administrator_sends_a_kept_letter_again(
    posted, broken, settings, tansy, solveig, signed_in
):
    broken(FullMailbox)
    posted(letter(tansy))
    client, desk = signed_in(solveig), reverse("admin:members_unsentmail_changelist")
    again = {"action": "try_again", "_selected_action": [UnsentMail.objects.get().pk]}
    assert "0 of 1 were sent." in client.post(desk, again, follow=True).content.decode()
    settings.EMAIL_BACKEND = "django.core.mail.backends.locmem.EmailBackend"
    assert "1 of 1 were sent." in client.post(desk, again, follow=True).content.decode()
    assert mail.outbox[0].to == ["tansy@example.org"]
    assert not UnsentMail.objects.exists()


def test_a_link_that_opens_an_account_is_not_kept(
    broken, tansy, django_capture_on_commit_callbacks
):
    broken(NoServer)
    with django_capture_on_commit_callbacks(execute=True):
        send_invitation(member=tansy)
    assert UnsentMail.objects.get().body == ""
    with pytest.raises(Refused, match="invite again"):
        send_again(mails=list(UnsentMail.objects.all()))


def test_a_page_says_when_mail_is_not_set_up(tansy, settings):
    assert mail_words("A receipt", tansy) == "A receipt goes to tansy@example.org."
    settings.EMAIL_BACKEND = "django.core.mail.backends.console.EmailBackend"
    assert mail_words("A receipt", tansy).startswith("Mail is not set up here, so nothing was sent")


def test_the_first_page_of_keeper_and_administrator_says_what_was_not_sent(
    posted, broken, tansy, cosmo, ignatius, solveig, signed_in
):
    broken(NoServer)
    posted(letter(tansy), letter(cosmo))
    for who_answers in (ignatius, solveig):
        assert "2 mails could not be sent." in signed_in(who_answers).get("/").content.decode()
    assert "could not be sent" not in signed_in(tansy).get("/").content.decode()


def test_the_keeper_reads_why_and_sends_again_what_can_be_sent(
    posted, broken, settings, tansy, cosmo, ignatius, signed_in
):
    broken(NoServer)
    posted(letter(tansy), letter(cosmo, is_secret=True))
    client = signed_in(ignatius)
    page = client.get(reverse("mails-unsent")).text
    assert "Connection refused" in page
    assert "the administrator invites again" in page
    assert "0 of 1 sent." in client.post(reverse("mails-again"), follow=True).text
    settings.EMAIL_BACKEND = "django.core.mail.backends.locmem.EmailBackend"
    assert "1 of 1 sent." in client.post(reverse("mails-again"), follow=True).text
    assert [message.to for message in mail.outbox] == [["tansy@example.org"]]
    assert [kept.member for kept in UnsentMail.objects.all()] == [cosmo]
