from django.http import HttpResponse

from crosses.base.clock import now, today
from crosses.base.pages import show
from seedbank.members.http import MemberRequest
from seedbank.members.queries import unsent_mails
from seedbank.web.bench_queries import bench_of
from seedbank.web.home_queries import keeping_of, packing_of, round_now


def home(request: MemberRequest) -> HttpResponse:
    member, day = request.user, today()
    latest = round_now(member, now())
    context = {
        "bench": bench_of(member, day, now()),
        "latest": latest,
        "keeping": keeping_of(member, latest) if member.is_keeper else None,
        "packing": packing_of(member) if member.is_packer else None,
        "unsent_mails": unsent_mails(member).count(),
        "today": day,
    }
    return show(request, "web/home.html", context)
