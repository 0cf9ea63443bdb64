"""Wishes by number, in one's own hand or the keeper's: put in, moved, receipted, never written over."""

import pytest
from django.core import mail

from crosses.models import DestinationFlag
from seedbank.exchange.actions.wishes import cancel_wishes, put_wishes
from seedbank.exchange.models import WishList
from seedbank.exchange.queries.wishes import numbers_in, wish_list_of
from tests.conftest import NOON, TODAY
from tests.factories.exchange import listed_round, stored_lot, wish
from tests.factories.members import MemberFactory

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("at_noon")]


@pytest.fixture
def found(ignatius):
    """A round with six lines; three packets and two reserves a member."""
    lots = [stored_lot(f"Primula {letter}") for letter in "abcdef"]
    return listed_round(ignatius, *lots, allowance=3, reserves=2)


@pytest.fixture
def wishes(found):
    return f"/rounds/{found.slug}/wishes/"


def saved(found, member):
    return numbers_in(wish_list_of(found, member))


def test_several_lines_typed_in_a_row_go_in_at_their_place(found, wishes, tansy, signed_in):
    client = signed_in(tansy)
    client.post(f"{wishes}put/", {"lines": "4 2", "place": ""})
    client.post(f"{wishes}put/", {"lines": "6, 5", "place": "1"})
    assert saved(found, tansy) == ([6, 5, 4], [2])


def test_a_line_in_the_list_moves_to_the_place_typed(found, wishes, tansy, signed_in):
    wish(found, tansy, 1, 2, 3, reserve=(4,))
    signed_in(tansy).post(f"{wishes}put/", {"lines": "4", "place": "1"})
    assert saved(found, tansy) == ([4, 1, 2], [3])


def test_the_same_line_put_in_twice_is_one_wish(found, wishes, tansy, signed_in):
    client = signed_in(tansy)
    for _tap in range(2):
        assert client.post(f"{wishes}put/", {"lines": "4"}).status_code == 302
    assert saved(found, tansy) == ([4], [])
    assert wish_list_of(found, tansy).history.count() == 1


@pytest.mark.parametrize(
    ("typed", "field", "words"),
    [
        ({"lines": ""}, "lines", "Type the number of a line"),
        ({"lines": "two"}, "lines", "“two” is not a line number"),
        ({"lines": "1 99"}, "lines", "There is no line 99 on this list."),
        ({"lines": "1", "place": "0"}, "place", "greater than or equal to 1"),
        ({"lines": "1", "place": "first"}, "place", "Enter a whole number"),
        ({"lines": "1 2 3 4 5 6"}, "lines", "2 reserve wishes are allowed"),
        ({"lines": "1 1"}, "lines", "Line 1 stands 2 times in your list; once is allowed."),
    ],
)
def test_wrong_numbers_are_refused_at_their_field_and_stay_typed(
    typed, field, words, wishes, tansy, signed_in
):
    answer = signed_in(tansy).post(f"{wishes}put/", typed)
    form = answer.context["put_form"]
    assert words in form.errors[field][0]
    assert form["lines"].value() == typed["lines"]
    assert not WishList.objects.exists()


def test_a_barred_line_is_refused_where_it_was_typed_with_the_reason(
    found, wishes, rollo, signed_in
):
    DestinationFlag.objects.create(
        genus="Primula", country="AU", kind="barred", words="no permitted seed",
        source="invented", checked_on=TODAY, checked_by="S.U.",
    )  # fmt: skip
    answer = signed_in(rollo).post(f"{wishes}put/", {"lines": "1"})
    assert "Not to Australia: no permitted seed" in answer.context["put_form"].errors["lines"][0]


def test_who_typed_a_whole_list_does_not_write_over_what_was_saved_since(
    found, wishes, tansy, ignatius, signed_in
):
    wish(found, tansy, 1)
    client = signed_in(tansy)
    seen = client.get(wishes).context["wish_list"].version
    put_wishes(round=found, member=tansy, by=ignatius, at=NOON.replace(hour=13), lines=[5])
    answer = client.post(wishes, {"main": "2, 3", "seen": seen})
    (words,) = answer.context["form"].non_field_errors()
    assert words.startswith("Ignatius Plumbline changed this list on 20 May 2026 at 14:00 (BST)")
    assert answer.context["form"]["main"].value() == "2, 3"
    assert saved(found, tansy) == ([1, 5], [])
    # The page she sees now shows the other list; what she saves after that is what she wants.
    now_seen = answer.context["wish_list"].version
    client.post(wishes, {"main": "2, 3", "seen": now_seen})
    assert saved(found, tansy) == ([2, 3], [])


def test_a_list_cancelled_meanwhile_is_not_brought_back_unseen(found, wishes, tansy, signed_in):
    wish(found, tansy, 1)
    client = signed_in(tansy)
    seen = client.get(wishes).context["wish_list"].version
    cancel_wishes(wish_list=wish_list_of(found, tansy), by=tansy, at=NOON)
    answer = client.post(wishes, {"main": "2", "seen": seen})
    assert "cancelled while you had it open" in answer.context["form"].non_field_errors()[0]


def test_a_double_tap_on_save_sends_one_receipt(
    found, wishes, tansy, signed_in, django_capture_on_commit_callbacks
):
    client = signed_in(tansy)
    with django_capture_on_commit_callbacks(execute=True):
        for _tap in range(2):
            assert client.post(wishes, {"main": "2, 3", "seen": ""}).status_code == 302
    assert len(mail.outbox) == 1


def test_small_changes_send_no_mail_and_the_button_does(
    found, wishes, tansy, signed_in, django_capture_on_commit_callbacks
):
    client = signed_in(tansy)
    with django_capture_on_commit_callbacks(execute=True):
        client.post(f"{wishes}put/", {"lines": "4 2"})
        assert "No receipt has been sent." in client.get(wishes).content.decode()
        client.post(f"{wishes}receipt/")
    (receipt,) = mail.outbox
    assert "1. line 4  Primula d\n  2. line 2  Primula b" in receipt.body
    assert "You may change it until 27 May 2026 at 13:00 (BST):" in receipt.body
    assert f"http://127.0.0.1:8000{wishes}" in receipt.body
    assert "tells of it" in client.get(wishes).content.decode()


def test_a_change_after_the_receipt_is_told_and_the_keeper_mails_it(
    found, wishes, tansy, cosmo, ignatius, signed_in, django_capture_on_commit_callbacks
):
    wish(found, tansy, 1)
    wish(found, cosmo, 1, with_receipt=True)
    client = signed_in(ignatius)
    assert "1 list changed since the last receipt" in client.get(f"{wishes}lists/").content.decode()
    with django_capture_on_commit_callbacks(execute=True):
        client.post(f"{wishes}receipts/")
    assert [message.to for message in mail.outbox] == [[tansy.email]]
    assert "since the last receipt" not in client.get(f"{wishes}lists/").content.decode()


def test_the_receipt_of_a_posted_list_says_who_typed_it(
    found, wishes, tansy, ignatius, signed_in, after_closing, django_capture_on_commit_callbacks
):
    with django_capture_on_commit_callbacks(execute=True):
        signed_in(ignatius).post(f"{wishes}of/{tansy.number}/", {"main": "3"})
    assert mail.outbox[0].to == [tansy.email]
    assert "typed in for you by Ignatius Plumbline" in mail.outbox[0].body
    assert "Wishes have closed" in mail.outbox[0].body


def test_the_page_says_when_no_receipt_can_be_mailed(wishes, tansy, signed_in, settings):
    settings.EMAIL_BACKEND = "django.core.mail.backends.console.EmailBackend"
    answer = signed_in(tansy).post(wishes, {"main": "3"}, follow=True)
    assert "Mail is not set up here" in answer.content.decode()


@pytest.mark.parametrize(
    ("typed", "leads"), [("0001", True), ("tansy oddwater", True), ("Nobody", False)]
)
def test_the_keeper_finds_whose_posted_list_to_type(
    typed, leads, wishes, tansy, ignatius, signed_in
):
    answer = signed_in(ignatius).post(f"{wishes}lists/", {"member": typed})
    if leads:
        assert answer.url == f"{wishes}of/{tansy.number}/"
    else:
        assert answer.context["form"].errors["member"]


def test_nothing_is_typed_for_who_has_left_the_society(wishes, tansy, ignatius, signed_in):
    tansy.is_active = False
    tansy.save()
    assert signed_in(ignatius).post(f"{wishes}lists/", {"member": "0001"}).status_code == 422
    assert signed_in(ignatius).get(f"{wishes}of/0001/").status_code == 404


def test_more_lists_cost_the_keepers_page_no_more_queries(
    found, wishes, ignatius, signed_in, django_assert_max_num_queries
):
    client = signed_in(ignatius)
    for _more in range(2):
        for member in MemberFactory.create_batch(4):
            wish(found, member, 1, 2)
        with django_assert_max_num_queries(14):
            client.get(f"{wishes}lists/")
