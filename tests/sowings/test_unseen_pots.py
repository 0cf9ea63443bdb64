"""A pot that nobody has looked at: its seeds are not known, and in no number as not come."""

import datetime

import pytest
from django.urls import reverse

from crosses.base.numbers import next_number
from seedbank.bank.models import Lot
from seedbank.sowings.actions.count import withdraw_count
from seedbank.sowings.actions.sowing import close_sowing
from seedbank.sowings.models import Sowing
from seedbank.sowings.queries import germination_of_lots, lot_germination, storage_outlook
from seedbank.web.given_queries import given_by
from tests.api.conftest import with_key  # noqa: F401  fixture
from tests.conftest import NOON, TODAY
from tests.factories.bank import LotFactory, packets_of
from tests.factories.members import MemberFactory
from tests.factories.sowings import count_pot, counted_sowing, make_sowing, pot_of

pytestmark = pytest.mark.django_db

# The pots of the sowing hold 20 and 25 and 30 seeds; 7 and 5 came in the first two.
POTS = [20, 25, 30]
LOOKED_AT = "12 of 45 seeds"


@pytest.fixture
def lot(tansy):
    return LotFactory(
        number=next_number("lot"),
        raised_by=tansy,
        collected_on=TODAY - datetime.timedelta(days=200),
    )


def sown_in_pots(grower, lot: Lot) -> Sowing:
    """Two pots of three are looked at, the second once more."""
    packet = packets_of(lot, seeds_each=sum(POTS))[0]
    sowing = make_sowing(grower, packet, replicate_seeds=POTS)
    count_pot(pot_of(sowing, 1), 14, 7)
    count_pot(pot_of(sowing, 2), 14, 3)
    count_pot(pot_of(sowing, 2), 21, 2)
    return sowing


@pytest.fixture
def sowing(tansy, lot):
    return sown_in_pots(tansy, lot)


@pytest.mark.parametrize("page", ["sowing", "list", "lot", "packet"])
def test_every_page_leaves_its_seeds_out(tansy, lot, sowing, signed_in, page):
    path = {
        "sowing": f"/sowings/{sowing.number}/",
        "list": "/sowings/",
        "lot": f"/lots/{lot.number}/",
        "packet": f"/packets/{sowing.packet.number}/",
    }[page]
    told = signed_in(tansy).get(path).text
    assert LOOKED_AT in told
    assert "of 75" not in told


def test_the_page_of_the_sowing_says_that_a_pot_is_left_out(tansy, sowing, signed_in):
    page = signed_in(tansy).get(f"/sowings/{sowing.number}/")
    assert "Without 1 pot that nobody has looked at yet." in page.text
    indices = page.context["facts"].indices
    assert (indices.final_share.x, indices.final_share.n) == (12, 45)


def test_history_rows_groups_and_chain_leave_its_seeds_out(tansy, sowing, with_key):  # noqa: F811
    script = with_key(tansy)

    def asked(name, *args, **query):
        return script.get(reverse(name, args=args), query).json()

    row = asked("api-germination-detail", sowing.number)
    assert (row["germinated"], row["seeds_looked_at"], row["seeds"]) == (12, 45, 75)
    assert (row["share"]["x"], row["share"]["n"]) == (12, 45)
    assert row["indices"]["final_share"]["n"] == 45
    assert "Without 1 pot" in row["how"]["share"]
    for name in ("api-germination-summary", "api-germination-courses"):
        (group,) = asked(name, group_by="lot")["results"]
        assert (group["germinated"], group["seeds"]) == (12, 45)
    assert group["course"][-1]["seeds_known"] <= 45
    (link,) = asked("api-packet-detail", sowing.packet.number)["sowings"]
    assert (link["share"]["x"], link["share"]["n"]) == (12, 45)


def test_a_lots_figures_leave_its_seeds_out(tansy, lot, sowing):
    share = germination_of_lots([lot.pk], tansy)[lot.pk]
    assert (share.x, share.n) == (12, 45)
    told = lot_germination(lot, tansy)
    assert (told.pooled.came, told.pooled.sown) == (12, 45)
    assert [(one.x, one.n) for _sowing, one in told.sowings] == [(12, 45)]
    assert storage_outlook(lot, tansy, TODAY).share.value == pytest.approx(12 / 45)


def test_a_donor_is_told_of_the_seeds_looked_at_only(cosmo, ignatius):
    from seedbank.bank.actions.donation import answer_line, offer
    from tests.factories.bank import PlaceFactory

    lot = LotFactory(raised_by=cosmo)
    packets_of(lot, 2)
    donation = offer(donor=cosmo, by=cosmo, at=NOON, lines=[(lot, 1)])
    accepted = {"answer": "accepted", "packets_received": 1, "place": PlaceFactory()}
    answer_line(line=donation.lines.get(), by=ignatius, at=NOON, **accepted)
    for grower in MemberFactory.create_batch(3):
        Sowing.objects.filter(pk=sown_in_pots(cosmo, lot).pk).update(grower=grower)
    (line,) = given_by(cosmo)
    assert (line.germination.x, line.germination.n) == (36, 135)


def test_a_pot_whose_only_look_was_withdrawn_is_not_looked_at(tansy, lot, sowing):
    (look,) = pot_of(sowing, 1).counts.all()
    withdraw_count(count=look, by=tansy, at=NOON, reason="wrong pot")
    share = germination_of_lots([lot.pk], tansy)[lot.pk]
    assert (share.x, share.n) == (5, 25)


@pytest.mark.parametrize("is_closed", [False, True])
def test_a_sowing_of_which_no_pot_was_looked_at_has_no_share(
    tansy,
    lot,
    signed_in,
    with_key,  # noqa: F811
    is_closed,
):
    packet = packets_of(lot, seeds_each=20)[0]
    sowing = make_sowing(tansy, packet, replicate_seeds=[10, 10])
    if is_closed:
        close_sowing(sowing=sowing, by=tansy, at=NOON, closed_on=TODAY)
    assert germination_of_lots([lot.pk], tansy) == {}
    client = signed_in(tansy)
    for path in (f"/sowings/{sowing.number}/", "/sowings/", f"/packets/{packet.number}/"):
        assert "0 of" not in client.get(path).text
    row = with_key(tansy).get(reverse("api-germination-detail", args=[sowing.number])).json()
    assert (row["share"], row["seeds_looked_at"]) == (None, None)


def test_the_list_asks_as_often_for_many_sowings_as_for_one(
    tansy, lot, signed_in, django_assert_num_queries
):
    from django.db import connection
    from django.test.utils import CaptureQueriesContext

    client = signed_in(tansy)
    counted_sowing(tansy, 3, 9)
    client.get("/sowings/")
    with CaptureQueriesContext(
        connection,
    ) as for_one:
        client.get("/sowings/")
    for _sowing in range(5):
        sown_in_pots(tansy, lot)
    with django_assert_num_queries(len(for_one)):
        client.get("/sowings/")
