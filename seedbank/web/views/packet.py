from django.http import HttpResponse

from crosses.base.pages import show
from seedbank.bank.access import packet_for_reading, packets_in_the_hands_of
from seedbank.chain import chain_of
from seedbank.members.http import MemberRequest


def detail(request: MemberRequest, number: str) -> HttpResponse:
    packet = packet_for_reading(request.user, number)
    context = {
        "packet": packet,
        "chain": chain_of(packet, request.user),
        "may_move": packets_in_the_hands_of(request.user).filter(pk=packet.pk).exists(),
    }
    return show(request, "web/packet.html", context)
