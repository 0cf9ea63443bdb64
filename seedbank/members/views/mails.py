"""Mails that did not go: why, and once more."""

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import HttpResponse
from django.shortcuts import redirect
from django.views.decorators.http import require_POST

from crosses.base.pages import page_of, show
from seedbank.members.actions.mail import send_again
from seedbank.members.http import MemberRequest
from seedbank.members.queries import unsent_mails


def unsent(request: MemberRequest) -> HttpResponse:
    _require_who_answers(request)
    page = page_of(request, unsent_mails(request.user))
    return show(request, "members/mails/unsent.html", {"page_obj": page})


@require_POST
def again(request: MemberRequest) -> HttpResponse:
    """Try every mail once more whose words were kept; a link to an account is made anew instead."""
    _require_who_answers(request)
    mails = list(unsent_mails(request.user).filter(is_secret=False))
    sent = send_again(mails=mails)
    told = messages.success if sent == len(mails) else messages.warning
    told(request, f"{sent} of {len(mails)} sent.")
    return redirect("mails-unsent")


def _require_who_answers(request: MemberRequest) -> None:
    if not (request.user.is_keeper or request.user.is_staff):
        raise PermissionDenied("These are mails to other members.")
