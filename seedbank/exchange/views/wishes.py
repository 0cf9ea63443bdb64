from typing import Any

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_POST

from crosses.base.clock import now, today
from crosses.base.pages import carry_out, carry_out_or_say
from crosses.base.refusal import Refused
from seedbank.exchange import access
from seedbank.exchange.actions import wishes as acts
from seedbank.exchange.forms import WishesForm
from seedbank.exchange.models import Round
from seedbank.exchange.queries.round import allowance_of, stage_of
from seedbank.exchange.queries.wishes import numbers_in, short_list_words, wish_list_of, wish_rows
from seedbank.members.http import MemberRequest
from seedbank.members.models import Member
from seedbank.members.queries import mail_words

UP_DOWN = {"up": -1, "down": 1, "top": -10_000}


def wishes(request: MemberRequest, slug: str) -> HttpResponse:
    return _wishes_page(request, slug, request.user)


def wishes_for_member(request: MemberRequest, slug: str, member_number: str) -> HttpResponse:
    """Let the keeper type a list that came by post."""
    access.require_keeper(request.user)
    return _wishes_page(request, slug, access.member_for_wishes(request.user, member_number))


@require_POST
def wish_add(request: MemberRequest, slug: str) -> HttpResponse:
    """Answer the button beside a line of the list; the reader stays where she was."""
    found, number = _wishable(request, slug), request.POST.get("line", "")
    try:
        acts.add_wish(
            round=found,
            member=request.user,
            by=request.user,
            at=now(),
            line_number=int(number) if number.isdecimal() else 0,
        )
        messages.success(request, f"Line {number} is in your wishes.")
    except Refused as no:
        messages.error(request, no.message)
    query = request.GET.urlencode()
    return redirect(
        f"{reverse('list-page', args=[slug])}{'?' + query if query else ''}#line-{number}"
    )


@require_POST
def wishes_cancel(request: MemberRequest, slug: str) -> HttpResponse:
    _cancel(request, slug, request.user)
    return redirect("round-detail", slug)


@require_POST
def wishes_cancel_for_member(request: MemberRequest, slug: str, member_number: str) -> HttpResponse:
    """Let the keeper take a member out of a round, after the closing too."""
    member = access.member_for_wishes(request.user, member_number)
    _cancel(request, slug, member)
    return redirect("wishes-for-member", slug, member_number)


def _cancel(request: MemberRequest, slug: str, member: Member) -> None:
    found = _wishable(request, slug)
    lists = access.wish_lists_visible_to(request.user)
    wish_list = get_object_or_404(lists, round=found, member=member)
    carry_out_or_say(
        request,
        lambda: acts.cancel_wishes(wish_list=wish_list, by=request.user, at=now()),
        "Out of this round. Wishes may be saved again until they close.",
    )


def _wishes_page(request: MemberRequest, slug: str, member: Member) -> HttpResponse:
    found, at = _wishable(request, slug), now()
    form = WishesForm()
    if request.method == "POST":
        if "move" in request.POST or "remove" in request.POST:
            return _change_one(request, found, member)
        form = WishesForm(request.POST)
        if (
            form.is_valid()
            and carry_out(
                form,
                lambda: acts.save_wishes(
                    round=found,
                    member=member,
                    by=request.user,
                    at=at,
                    with_receipt=True,
                    **form.cleaned_data,
                ),
            )
            is not None
        ):
            messages.success(request, f"Saved. {mail_words('A receipt', member)}")
            return redirect(request.path)
    return _show(request, found, member, form)


def _show(request: MemberRequest, found: Round, member: Member, form: WishesForm) -> HttpResponse:
    wish_list, allowance, at = wish_list_of(found, member), allowance_of(found, member), now()
    main, reserve = numbers_in(wish_list)
    if not form.is_bound:
        form = WishesForm(initial={"main": main, "reserve": reserve})
    context = {
        "round": found,
        "stage": stage_of(found, at),
        "member": member,
        "is_own": member == request.user,
        "form": form,
        "wish_list": wish_list,
        "rows": wish_rows(found, member, main, reserve, today().year),
        "allowance": allowance,
        "warning": short_list_words(found, allowance, wish_list) if wish_list else "",
        "may_change": found.takes_wishes_at(at) or (member != request.user and not found.frozen_at),
    }
    return render(request, "exchange/wishes/wishes.html", context)


def _change_one(request: MemberRequest, found: Round, member: Member) -> HttpResponse:
    """Answer the small buttons of one wish."""
    way, _, rank = (
        request.POST.get("move") or f"remove:{request.POST.get('remove', '')}"
    ).partition(":")
    place = int(rank) if rank.isdecimal() else 0
    who: dict[str, Any] = {
        "round": found,
        "member": member,
        "by": request.user,
        "at": now(),
        "rank": place,
    }
    try:
        if way == "remove":
            acts.remove_wish(**who)
        else:
            acts.move_wish(**who, places=UP_DOWN.get(way, 0))
    except Refused as no:
        messages.error(request, no.message)
    return redirect(f"{request.path}#wishes")


def _wishable(request: MemberRequest, slug: str) -> Round:
    found = access.round_for_reading(request.user, slug)
    if not access.may_read_list(request.user, found, now()):
        raise PermissionDenied("The list is not open yet.")
    return found
