"""A calendar reads the watch list at a secret address, and the day's work comes by mail once."""

import datetime
import io

import icalendar
import pytest
import vobject
from django.core import mail
from django.core.management import call_command
from django.test import Client
from django.urls import reverse

from crosses.actions.capsule import record_check
from crosses.models import Pollination
from seedbank.members.actions.calendar import MOST_ADDRESSES, make_calendar_address
from seedbank.members.models import CalendarAddress, DailyMail, UnsentMail
from seedbank.web.daily_mail import send_daily_mails
from seedbank.web.views.reminders import READS
from tests.conftest import NOON, TODAY
from tests.factories.crosses import TaxonFactory, make_cross, make_plant, make_pollination

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("at_noon")]


def flower_of(grower, **facts) -> Pollination:
    """A capsule that may split any day."""
    taxon = TaxonFactory(species="", ripe_low_days=20, ripe_high_days=40)
    plant = make_plant(grower, "Primula 'Invented; with, signs'", taxon=taxon)
    day = TODAY - datetime.timedelta(days=30)
    return make_pollination(
        grower, make_cross(grower, seed_parent=plant, **facts), pollinated_on=day
    )


@pytest.fixture
def secret(tansy):
    return make_calendar_address(member=tansy, name="My phone", at=NOON)[1]


@pytest.fixture
def read(secret):
    """Return a function that reads the address as a calendar does: without signing in."""
    return lambda **headers: Client().get(reverse("calendar-feed", args=[secret]), headers=headers)


class TestTheCalendar:
    def test_two_readers_find_the_same_days(self, tansy, read):
        flower = flower_of(tansy)
        answer = read()
        assert answer.headers["Content-Type"] == "text/calendar; charset=utf-8"
        by_icalendar = icalendar.Calendar.from_ical(answer.content).walk("VEVENT")[0]
        by_vobject = vobject.readOne(answer.content.decode()).vevent
        days = [by_icalendar.decoded(name) for name in ("DTSTART", "DTEND")]
        assert days == [by_vobject.dtstart.value, by_vobject.dtend.value]
        assert days[0] == TODAY
        for words in (str(by_icalendar["DESCRIPTION"]), by_vobject.description.value):
            assert "'Invented; with, signs'" in words
        assert flower.number in str(by_icalendar["SUMMARY"])

    def test_it_holds_ones_own_flowers_only_hidden_ones_too(self, tansy, cosmo, read):
        own = [flower_of(tansy), flower_of(tansy, visibility="me")]
        another = flower_of(cosmo)
        held = read().content.decode()
        assert all(flower.number in held for flower in own)
        assert another.number not in held

    def test_a_flower_that_is_over_is_cancelled_for_every_reader(self, tansy, read):
        flower = flower_of(tansy)
        record_check(pollination=flower, by=tansy, at=NOON, seen_on=TODAY, kind="aborted")
        event = icalendar.Calendar.from_ical(read().content).walk("VEVENT")[0]
        assert event["STATUS"] == "CANCELLED"

    def test_what_has_not_changed_is_not_sent_again(self, tansy, read):
        flower = flower_of(tansy)
        tag = read().headers["ETag"]
        assert read(if_none_match=tag).status_code == 304
        record_check(pollination=flower, by=tansy, at=NOON, seen_on=TODAY, kind="nothing_yet")
        assert read(if_none_match=tag).status_code == 200

    def test_no_cache_on_the_way_keeps_it_for_others(self, read):
        assert read().headers["Cache-Control"].startswith("private")

    def test_who_asks_too_often_is_told_to_wait_and_then_served(self, read, time_machine):
        for _read in range(READS):
            assert read().status_code == 200
        told = read()
        assert (told.status_code, told.headers["Retry-After"]) == (429, "3600")
        time_machine.move_to(NOON + datetime.timedelta(hours=1, seconds=1))
        assert read().status_code == 200

    def test_a_wrong_address_opens_nothing(self, read, secret):
        for wrong in (secret[:-1], secret.swapcase(), "x"):
            assert Client().get(reverse("calendar-feed", args=[wrong])).status_code == 404

    def test_nothing_can_be_sent_to_it(self, secret):
        assert Client().post(reverse("calendar-feed", args=[secret])).status_code == 405

    def test_who_may_not_sign_in_any_more_has_no_calendar(self, tansy, read):
        tansy.is_active = False
        tansy.save()
        assert read().status_code == 404


class TestTheAddress:
    def test_it_is_shown_once_and_kept_as_a_digest(self, tansy, signed_in):
        client = signed_in(tansy)
        page = reverse("bench-reminders")
        answer = client.post(page, {"name": "My phone"})
        shown = answer.context["address"]
        assert Client().get(shown).status_code == 200
        assert "no-store" in answer.headers["Cache-Control"]
        secret = shown.rpartition("/")[2].removesuffix(".ics")
        kept = CalendarAddress.objects.values().get()
        assert secret not in str(kept)
        assert secret not in client.get(page).content.decode()

    def test_a_revoked_address_opens_nothing(self, tansy, cosmo, signed_in, read):
        address = reverse("bench-calendar-revoke", args=[CalendarAddress.objects.get().pk])
        assert signed_in(cosmo).post(address).status_code == 404
        assert read().status_code == 200
        signed_in(tansy).post(address)
        assert read().status_code == 404

    def test_when_it_was_last_read_stands_beside_it(self, tansy, read, signed_in):
        page = reverse("bench-reminders")
        assert "never read" in signed_in(tansy).get(page).content.decode()
        read()
        assert "last read 20 May 2026" in signed_in(tansy).get(page).content.decode()

    def test_there_are_a_few_and_no_more(self, tansy, signed_in):
        client, page = signed_in(tansy), reverse("bench-reminders")
        for _address in range(MOST_ADDRESSES):
            client.post(page, {"name": "Phone"})
        assert (
            "revoke one"
            in client.post(page, {"name": "One more"}).context["form"].errors["name"][0]
        )


@pytest.mark.django_db(transaction=True)
class TestTheDailyMail:
    @pytest.fixture
    def wants(self, tansy, signed_in):
        signed_in(tansy).post(reverse("bench-daily-mail"), {"wants": "1"})

    def test_nobody_gets_it_who_did_not_ask(self, tansy):
        flower_of(tansy)
        assert send_daily_mails(today=TODAY, at=NOON) == 0
        assert mail.outbox == []

    @pytest.mark.usefixtures("wants")
    def test_it_says_what_would_be_lost_and_where_to_look(self, tansy, cosmo, settings):
        flower, another = flower_of(tansy), flower_of(cosmo)
        call_command("daily_mail", stdout=io.StringIO())
        sent = mail.outbox[0]
        assert sent.to == [tansy.email]
        assert sent.subject == "20 May: 1 flower to look at"
        assert f"{settings.SITE_ADDRESS}/s/{flower.number}" in sent.body
        # Words of a mail are no page: signs stand as they are.
        assert "'Invented; with, signs'" in sent.body
        assert another.number not in sent.body

    @pytest.mark.usefixtures("wants")
    def test_the_same_day_it_is_sent_once_and_the_next_day_again(self, tansy):
        flower_of(tansy)
        tomorrow = TODAY + datetime.timedelta(days=1)
        sent = [send_daily_mails(today=day, at=NOON) for day in (TODAY, TODAY, tomorrow)]
        assert sent == [1, 0, 1]
        assert len(mail.outbox) == 2

    @pytest.mark.usefixtures("wants")
    def test_a_day_with_nothing_due_has_no_mail(self):
        assert send_daily_mails(today=TODAY, at=NOON) == 0
        assert mail.outbox == []

    @pytest.mark.usefixtures("wants")
    def test_who_turns_it_off_or_has_left_gets_no_more(self, tansy, signed_in):
        flower_of(tansy)
        tansy.is_active = False
        tansy.save()
        assert send_daily_mails(today=TODAY, at=NOON) == 0
        tansy.is_active = True
        tansy.save()
        signed_in(tansy).post(reverse("bench-daily-mail"))
        assert not DailyMail.objects.exists()
        assert send_daily_mails(today=TODAY, at=NOON) == 0

    @pytest.mark.usefixtures("wants")
    def test_one_that_cannot_be_sent_is_kept_and_not_written_twice(self, tansy, settings):
        flower_of(tansy)
        settings.EMAIL_BACKEND = "tests.members.mailboxes.FullMailbox"
        for _run in range(2):
            send_daily_mails(today=TODAY, at=NOON)
        assert UnsentMail.objects.get().member == tansy
