"""The keeper checks an envelope in by scan, puts names right, and the donor is told."""

import pytest
from django.core import mail
from django.urls import reverse

from seedbank.bank.actions.donation import offer
from seedbank.bank.models import DonationLine
from tests.factories.bank import LotFactory, PlaceFactory, packets_of
from tests.factories.crosses import TaxonFactory

pytestmark = pytest.mark.django_db


@pytest.fixture
def packets(cosmo):
    PlaceFactory(code="A-03")
    return packets_of(LotFactory(raised_by=cosmo, name_text="Primula vulgaris"), 3)


@pytest.fixture
def donation(packets, cosmo, at):
    return offer(donor=cosmo, by=cosmo, at=at, lines=[(packets[0].lot, 2)])


@pytest.fixture
def scan(donation, ignatius, signed_in):
    """Return a function that scans a number into the envelope."""
    client = signed_in(ignatius)

    def post(number, place="A-03"):
        address = reverse("donation-scan", args=[donation.number])
        return client.post(address, {"number": number, "place": place})

    return post


def line_of(donation) -> DonationLine:
    return donation.lines.get()


def test_each_scanned_packet_is_in_the_store_at_once_and_the_last_accepts_the_line(
    donation, packets, scan
):
    answer = scan(packets[1].number)
    assert answer.url == f"{reverse('donation-receive', args=[donation.number])}?place=A-03"
    packets[1].refresh_from_db()
    assert (packets[1].state, packets[1].place.code) == ("in_store", "A-03")
    assert line_of(donation).answer == "waiting"
    # A scanner types the whole address of the code.
    scan(f"http://127.0.0.1:8000/s/{packets[2].number}")
    line = line_of(donation)
    assert (line.answer, line.packets_received) == ("accepted", 2)


def test_a_packet_scanned_twice_is_said_and_counted_once(donation, packets, scan):
    scan(packets[0].number)
    answer = scan(packets[0].number)
    assert answer.context["scan"].errors["number"] == [
        f"{packets[0].number} has been checked in already."
    ]
    assert answer.context["scan"]["place"].value() == "A-03"


def test_a_packet_of_another_envelope_is_refused_at_its_field(donation, cosmo, scan):
    stray = packets_of(LotFactory(raised_by=cosmo))[0]
    answer = scan(stray.number)
    assert "is no packet of this envelope" in answer.context["scan"].errors["number"][0]
    stray.refresh_from_db()
    assert stray.state == "with_member"


@pytest.mark.parametrize(
    ("number", "place", "field"),
    [
        ("S000001-99", "A-03", "number"),
        ("nonsense", "A-03", "number"),
        ("S000001-01", "Z-9", "place"),
    ],
)
def test_a_misread_number_and_an_unknown_place_are_told(number, place, field, scan):
    assert scan(number, place).context["scan"].errors[field]


def test_the_code_of_a_lot_leads_to_its_line(donation, packets, scan):
    from crosses.calc.checkdigit import write_number

    lot = packets[0].lot
    type(lot).objects.filter(pk=lot.pk).update(number=write_number("lot", 42))
    assert scan(write_number("lot", 42)).url.endswith(f"#lot-{write_number('lot', 42)}")


def test_what_is_scanned_counts_when_fewer_came_than_offered(
    donation, packets, scan, ignatius, signed_in
):
    scan(packets[0].number)
    line = line_of(donation)
    address = reverse("donation-receive", args=[donation.number])
    ((_line, form),) = signed_in(ignatius).get(address).context["forms"]
    assert form["packets_received"].value() == 1
    signed_in(ignatius).post(
        address, {f"line-{line.pk}-answer": "accepted", f"line-{line.pk}-packets_received": "1"}
    )
    assert line_of(donation).packets_received == 1


def test_a_line_with_packets_in_the_store_is_not_declined(
    donation, packets, scan, ignatius, signed_in
):
    scan(packets[0].number)
    line = line_of(donation)
    answer = signed_in(ignatius).post(
        reverse("donation-receive", args=[donation.number]),
        {f"line-{line.pk}-answer": "declined", f"line-{line.pk}-reason": "mouldy"},
    )
    ((_line, form),) = answer.context["forms"]
    assert "1 packets of it are in the store" in form.errors["answer"][0]


def test_a_name_put_right_is_in_the_lots_history_and_the_donor_reads_both(
    donation, packets, cosmo, ignatius, signed_in
):
    TaxonFactory(species="vulgaris")
    line = line_of(donation)
    signed_in(ignatius).post(
        reverse("donation-receive", args=[donation.number]),
        {
            f"line-{line.pk}-name_text": "Primula vulgaris subsp. sibthorpii",
            f"line-{line.pk}-taxon": "Primula vulgaris",
        },
    )
    lot = line.lot
    lot.refresh_from_db()
    assert (lot.name_text, str(lot.taxon)) == (
        "Primula vulgaris subsp. sibthorpii",
        "Primula vulgaris",
    )
    assert lot.history.first().history_user == ignatius
    page = signed_in(cosmo).get(reverse("donation-detail", args=[donation.number]))
    assert "as offered: Primula vulgaris<" in page.content.decode()
    assert line_of(donation).answer == "waiting"


def test_the_donor_is_written_to_once_the_last_line_has_its_answer(
    donation, packets, scan, cosmo, django_capture_on_commit_callbacks
):
    with django_capture_on_commit_callbacks(execute=True):
        scan(packets[0].number)
        assert mail.outbox == []
        scan(packets[1].number)
    (letter,) = mail.outbox
    assert letter.to == [cosmo.email]
    assert "Primula vulgaris, 2025: 2 packets accepted" in letter.body


def test_only_the_keeper_checks_in(donation, packets, cosmo, hettie, signed_in):
    for other, status in ((cosmo, 403), (hettie, 404)):
        answer = signed_in(other).post(
            reverse("donation-scan", args=[donation.number]),
            {"number": packets[0].number, "place": "A-03"},
        )
        assert answer.status_code == status


def test_the_sheet_carries_a_code_for_each_lot(donation, cosmo, signed_in):
    pdf = signed_in(cosmo).get(reverse("donation-sheet", args=[donation.number]))
    assert pdf.content.startswith(b"%PDF")


def test_accepted_packets_are_offered_to_be_split(donation, packets, scan, ignatius, signed_in):
    scan(packets[0].number)
    page = signed_in(ignatius).get(reverse("donation-detail", args=[donation.number]))
    assert reverse("packet-split", args=[packets[0].number]) in page.content.decode()
