"""At the packing table: nothing goes into a parcel that was not checked in by its number."""

import pytest

from crosses.base.refusal import Refused
from seedbank.bank.models import Packet
from seedbank.exchange.actions.picking import (
    put_down,
    scan,
    short_item,
    take_in_hand,
    take_out,
)
from seedbank.exchange.models import ParcelItem
from seedbank.members.actions.roles import Role, give_role
from seedbank.members.models import Member
from tests.factories.bank import PlaceFactory, packets_of
from tests.factories.exchange import (
    AFTER,
    announced,
    line,
    listed_round,
    parcel_of,
    share_out,
    stored_lot,
    wish,
)
from tests.factories.members import AddressFactory, MemberFactory

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("after_closing")]

ADDRESS = "1 Nowhere Row\nNettlemere"


@pytest.fixture
def parcel(ignatius, tansy, cosmo):
    """Tansy's parcel with a packet each of two lines; Cosmo's has one of the first."""
    AddressFactory(member=tansy, lines=ADDRESS)
    places = [PlaceFactory(code="B-2", walk_order=2), PlaceFactory(code="A-1", walk_order=1)]
    lots = [stored_lot(name, packets=0) for name in ("Primula a", "Primula b")]
    for lot, place in zip(lots, places, strict=True):
        packets_of(lot, 2, place=place)
    found = listed_round(ignatius, *lots)
    wish(found, tansy, 1, 2)
    wish(found, cosmo, 1)
    return parcel_of(announced(found, ignatius), tansy)


@pytest.fixture
def in_hand(parcel, hettie):
    return take_in_hand(parcel=parcel, by=hettie, at=AFTER)


@pytest.fixture
def tabitha(db):
    """Another packer."""
    member = MemberFactory(name="Tabitha Sorrel")
    give_role(member=member, role=Role.PACKER)
    return Member.objects.get(pk=member.pk)


def _item(parcel, line_number):
    return ParcelItem.objects.get(parcel=parcel, line__line_number=line_number, released_at=None)


def test_the_address_is_shown_to_whoever_has_the_parcel_in_hand_and_nobody_else(
    parcel, hettie, tabitha, ignatius, cosmo, tansy, signed_in
):
    page = f"/parcels/{parcel.number}/"

    def shows(member):
        return "Nowhere Row" in signed_in(member).get(page).content.decode()

    assert not shows(hettie)
    signed_in(hettie).post(f"{page}take/")
    assert shows(hettie)
    assert not shows(tabitha)
    assert shows(ignatius)
    assert shows(tansy)
    assert signed_in(cosmo).get(page).status_code == 404
    signed_in(hettie).post(f"{page}take/", {"down": 1})
    assert not shows(hettie)


def test_a_parcel_is_in_one_packers_hand(in_hand, tabitha):
    with pytest.raises(Refused, match="Hettie Quagmire has this parcel in hand"):
        take_in_hand(parcel=in_hand, by=tabitha, at=AFTER)


def test_nothing_is_packed_before_the_result_is_announced(ignatius, tansy, hettie):
    found = listed_round(ignatius)
    wish(found, tansy, 1)
    share_out(found, ignatius)
    with pytest.raises(Refused, match="not announced"):
        take_in_hand(parcel=parcel_of(found, tansy), by=hettie, at=AFTER)


def test_the_right_packet_is_in_at_once(in_hand, hettie, signed_in):
    item = _item(in_hand, 1)
    answer = signed_in(hettie).post(
        f"/parcels/{in_hand.number}/scan/", {"number": item.packet.number}
    )
    assert answer.status_code == 302
    item.refresh_from_db()
    assert item.packed_by == hettie
    assert Packet.objects.get(pk=item.packet_id).state == "packed"


@pytest.mark.parametrize(
    "typed",
    [
        lambda number: number.lower().replace("-", " "),
        lambda number: f"http://127.0.0.1:8000/s/{number}",
        lambda number: number[1:],
    ],
)
def test_a_number_is_understood_as_scanned_or_as_typed(typed, in_hand, hettie, signed_in):
    item = _item(in_hand, 1)
    signed_in(hettie).post(
        f"/parcels/{in_hand.number}/scan/", {"number": typed(item.packet.number)}
    )
    item.refresh_from_db()
    assert item.packed_at


def test_a_mistyped_number_is_told_by_its_check_digits(in_hand, hettie, signed_in):
    number = _item(in_hand, 1).packet.number
    mistyped = number[:-1] + str((int(number[-1]) + 1) % 10)
    answer = signed_in(hettie).post(f"/parcels/{in_hand.number}/scan/", {"number": mistyped})
    form = answer.context["form"]
    assert "one digit is mistyped or two are swapped" in form.errors["number"][0]
    assert form["number"].value() == mistyped


def test_a_packet_of_another_parcel_is_told_what_it_is_and_where_it_belongs(in_hand, cosmo, hettie):
    other = ParcelItem.objects.get(parcel__member=cosmo)
    other_line = ParcelItem.objects.get(parcel=in_hand, line__line_number=1)
    scan(parcel=in_hand, number=other_line.packet.number, by=hettie, at=AFTER)
    with pytest.raises(Refused) as no:
        scan(parcel=in_hand, number=other.packet.number, by=hettie, at=AFTER)
    assert no.value.field == "number"
    assert f"is Primula a, line 1; it belongs to parcel {other.parcel.number}" in no.value.message
    assert "Put it back at B-2" in no.value.message


def test_the_right_seed_in_another_packet_is_told_which_packet_is_meant(in_hand, cosmo, hettie):
    other = ParcelItem.objects.get(parcel__member=cosmo)
    with pytest.raises(Refused, match=f"packet {_item(in_hand, 1).packet.number} is promised"):
        scan(parcel=in_hand, number=other.packet.number, by=hettie, at=AFTER)


def test_a_packet_that_nobody_is_to_have_is_told_so(in_hand, hettie):
    number = packets_of(stored_lot("Primula z", packets=0), 1)[0].number
    with pytest.raises(
        Refused, match="Primula z; it is in the bank's store and nobody is to have it"
    ):
        scan(parcel=in_hand, number=number, by=hettie, at=AFTER)


def test_the_same_packet_is_not_packed_twice(in_hand, hettie):
    number = _item(in_hand, 1).packet.number
    scan(parcel=in_hand, number=number, by=hettie, at=AFTER)
    with pytest.raises(Refused, match="in this parcel already"):
        scan(parcel=in_hand, number=number, by=hettie, at=AFTER)


def test_only_whoever_has_the_parcel_in_hand_packs_it(parcel, in_hand, tabitha):
    with pytest.raises(Refused, match="in hand first"):
        scan(parcel=in_hand, number=_item(parcel, 1).packet.number, by=tabitha, at=AFTER)


def test_a_packet_taken_out_stays_promised(in_hand, hettie):
    item = _item(in_hand, 1)
    scan(parcel=in_hand, number=item.packet.number, by=hettie, at=AFTER)
    take_out(item=item, by=hettie, at=AFTER)
    assert Packet.objects.get(pk=item.packet_id).state == "held"
    assert not _item(in_hand, 1).packed_at


def test_a_missing_packet_is_replaced_by_another_of_the_same_lot(in_hand, hettie):
    item = _item(in_hand, 2)  # line 2 has a second packet in store
    other = short_item(item=item, by=hettie, at=AFTER, reason="It is not at its place.")
    assert other.line == item.line
    assert other.packet.state == "held"
    gone = Packet.objects.get(pk=item.packet_id)
    assert gone.state == "discarded"
    assert "not at its place" in gone.movements.latest("step").note
    assert not ParcelItem.objects.filter(is_owed=True).exists()


def test_without_another_packet_the_member_is_owed_one(in_hand, hettie):
    item = _item(in_hand, 1)  # Cosmo has the other packet of line 1
    # Had he taken it after her, it would be hers now and he the one who is owed.
    ParcelItem.objects.filter(pk=item.pk).update(turn=99)
    assert short_item(item=item, by=hettie, at=AFTER, reason="mouldy") is None
    item.refresh_from_db()
    assert (item.is_owed, item.released_reason) == (True, "mouldy")


def test_what_the_bank_keeps_is_not_taken_as_a_replacement(in_hand, hettie):
    kept = line(in_hand.round, 2)
    kept.kept_back = 1
    kept.save()
    assert short_item(item=_item(in_hand, 2), by=hettie, at=AFTER, reason="mouldy") is None


def test_a_sound_packet_that_must_not_go_stays_in_store_and_nothing_is_owed(in_hand, hettie):
    item = _item(in_hand, 1)
    assert short_item(item=item, by=hettie, at=AFTER, reason="barred", stays_in_store=True) is None
    item.refresh_from_db()
    assert not item.is_owed
    assert Packet.objects.get(pk=item.packet_id).state == "in_store"


def test_the_page_of_a_short_packet_asks_what_is_wrong_and_says_what_to_take(
    in_hand, hettie, signed_in
):
    item, client = _item(in_hand, 2), signed_in(hettie)
    page = f"/parcels/{in_hand.number}/items/{item.pk}/short/"
    assert client.post(page, {"note": "?"}).context["form"].errors["what"]
    answer = client.post(page, {"what": "spoilt", "note": "green fur"}, follow=True)
    assert f"Take {_item(in_hand, 2).packet.number} instead" in answer.content.decode()
    item.refresh_from_db()
    assert item.released_reason == "It is spoilt: mouldy, leaking, empty. green fur"


def test_what_is_put_down_keeps_what_is_packed(in_hand, hettie, tabitha):
    item = _item(in_hand, 1)
    scan(parcel=in_hand, number=item.packet.number, by=hettie, at=AFTER)
    put_down(parcel=in_hand, by=hettie, at=AFTER)
    take_in_hand(parcel=in_hand, by=tabitha, at=AFTER)
    assert _item(in_hand, 1).packed_by == hettie


def test_the_pick_list_walks_the_store_in_order(parcel, hettie, signed_in):
    answer = signed_in(hettie).get("/packing/pick/", {"parcel": parcel.number})
    assert [(each.place, each.name) for each in answer.context["lines"]] == [
        ("A-1", "Primula b"),
        ("B-2", "Primula a"),
    ]


def test_the_board_shows_how_far_everything_is_and_never_an_address(in_hand, hettie, signed_in):
    scan(parcel=in_hand, number=_item(in_hand, 1).packet.number, by=hettie, at=AFTER)
    answer = signed_in(hettie).get("/packing/")
    progress = answer.context["progress"]
    assert (progress.packed, progress.packets, progress.parcels) == (1, 3, 2)
    assert "in hand: Hettie Quagmire" in answer.content.decode()
    assert "Nowhere Row" not in answer.content.decode()


def test_a_member_is_not_let_near_the_packing_table(parcel, tansy, signed_in):
    client = signed_in(tansy)
    for page in ("/packing/", "/packing/pick/", "/packing/slips.pdf"):
        assert client.get(page).status_code == 403
    for act in ("take/", "scan/", "close/", "post/", "cancel/"):
        assert client.post(f"/parcels/{parcel.number}/{act}").status_code == 403


@pytest.mark.parametrize("members", [2, 9])
def test_the_board_costs_no_more_for_more_parcels(
    members, ignatius, hettie, signed_in, django_assert_max_num_queries
):
    found = listed_round(ignatius, stored_lot("Primula a", 12))
    for member in MemberFactory.create_batch(members):
        wish(found, member, 1)
    announced(found, ignatius)
    client = signed_in(hettie)
    with django_assert_max_num_queries(11):
        client.get("/packing/")
