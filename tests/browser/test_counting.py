"""Counting seedlings with a thumb."""

from playwright.sync_api import expect

from seedbank.sowings.models import Count
from tests.factories.sowings import make_sowing, packet_in_hand


def test_one_tap_counts_one_seedling_and_never_more_than_were_sown(tansy, open_as):
    make_sowing(tansy, packet_in_hand(tansy, seeds=3))
    page = open_as(tansy)
    page.goto("/sowings/counts/")
    one_more = page.get_by_role("button", name="One more: Seedlings of")
    one_more.tap()
    one_more.tap()
    expect(page.get_by_role("spinbutton", name="Seedlings of")).to_have_value("2")
    page.get_by_role("button", name="Save the counts").tap()
    expect(page.get_by_role("status")).to_contain_text("1 pot counted")
    assert Count.objects.get().newly_seen == 2

    # One seed is left to come; as a running total the next tap starts from the two.
    page.get_by_label("all so far").check()
    one_more.tap()
    expect(page.get_by_role("spinbutton", name="Seedlings of")).to_have_value("3")
    expect(one_more).to_be_disabled()
