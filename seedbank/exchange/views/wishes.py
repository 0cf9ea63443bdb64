"""A member's wishes; with a member's number in the address, typed in for her by the keeper."""

from typing import Any

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse
from django.views.decorators.http import require_POST

from crosses.base.clock import now, today
from crosses.base.pages import carry_out, carry_out_or_say, page_of, show
from crosses.base.sending import entered_as_sent
from seedbank.bank.queries import members_to_suggest
from seedbank.exchange import access
from seedbank.exchange.actions import wishes as acts
from seedbank.exchange.forms import PutWishesForm, WhoseWishesForm, WishesForm
from seedbank.exchange.models import Round
from seedbank.exchange.queries.round import allowance_of, stage_of
from seedbank.exchange.queries.wishes import (
    numbers_in,
    receipts_due,
    short_list_words,
    wish_list_of,
    wish_lists_listed,
    wish_rows,
)
from seedbank.members.http import MemberRequest
from seedbank.members.models import Member
from seedbank.members.queries import mail_words

STEPS = {"up": -1, "down": 1}


def wishes(request: MemberRequest, slug: str, member_number: str = "") -> HttpResponse:
    found, member = _wishable(request, slug), _whose(request, member_number)
    form = WishesForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        saved = carry_out(
            form,
            lambda: acts.save_wishes(
                **_who(request, found, member),
                with_receipt=True,
                seen=request.POST.get("seen"),
                **form.cleaned_data,
            ),
        )
        if saved is not None:
            messages.success(request, f"Saved. {mail_words('A receipt', member)}")
            return redirect(request.path)
    return _page(request, found, member, form=form)


@require_POST
def wishes_put(request: MemberRequest, slug: str, member_number: str = "") -> HttpResponse:
    """Put typed lines into the list, or move them in it."""
    found, member = _wishable(request, slug), _whose(request, member_number)
    form = PutWishesForm(request.POST)
    if form.is_valid():
        who = _who(request, found, member)
        if carry_out(form, lambda: acts.put_wishes(**who, **form.cleaned_data)) is not None:
            return redirect(f"{_address(found, member_number)}#wishes")
    return _page(request, found, member, put_form=form)


@require_POST
def wishes_order(request: MemberRequest, slug: str, member_number: str = "") -> HttpResponse:
    """Answer the small buttons of one wish: "up:12:3" is line 12, seen at place 3."""
    found, member = _wishable(request, slug), _whose(request, member_number)
    way, line_number, rank = [*request.POST.get("change", "").split(":"), "", ""][:3]
    which: dict[str, Any] = {
        **_who(request, found, member),
        "line_number": _number(line_number),
        "rank": _number(rank),
    }
    if way in STEPS:
        carry_out_or_say(request, lambda: acts.move_wish(**which, step=STEPS[way]))
    else:
        carry_out_or_say(request, lambda: acts.remove_wish(**which))
    return redirect(f"{_address(found, member_number)}#wishes")


@require_POST
def wishes_receipt(request: MemberRequest, slug: str, member_number: str = "") -> HttpResponse:
    found, member = _wishable(request, slug), _whose(request, member_number)
    carry_out_or_say(
        request,
        lambda: acts.send_receipt(**_who(request, found, member)),
        mail_words("A receipt", member),
    )
    return redirect(_address(found, member_number))


@require_POST
def wishes_cancel(request: MemberRequest, slug: str, member_number: str = "") -> HttpResponse:
    """Leave a round; the keeper takes a member out of it after the closing too."""
    found, member = _wishable(request, slug), _whose(request, member_number)
    lists = access.wish_lists_visible_to(request.user)
    wish_list = get_object_or_404(lists, round=found, member=member)
    carry_out_or_say(
        request,
        lambda: acts.cancel_wishes(wish_list=wish_list, by=request.user, at=now()),
        "Out of this round. Wishes may be saved again until they close.",
    )
    return redirect(_address(found, member_number))


@require_POST
def wish_add(request: MemberRequest, slug: str) -> HttpResponse:
    """Answer the button beside a line of the list; the reader stays where she was."""
    found, number = _wishable(request, slug), request.POST.get("line", "")
    carry_out_or_say(
        request,
        lambda: acts.put_wishes(**_who(request, found, request.user), lines=[_number(number)]),
        f"Line {number} is in your wishes.",
    )
    query = request.GET.urlencode()
    return redirect(
        f"{reverse('list-page', args=[slug])}{'?' + query if query else ''}#line-{number}"
    )


def wish_lists(request: MemberRequest, slug: str) -> HttpResponse:
    """Whose list has come, and whose is to be typed in."""
    found = access.round_for_writing(request.user, slug)
    form = WhoseWishesForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        return redirect("wishes-for-member", slug, form.cleaned_data["member"].number)
    lists = wish_lists_listed(access.wish_lists_visible_to(request.user), found)
    context = {
        "round": found,
        "stage": stage_of(found, now()),
        "form": form,
        "page_obj": page_of(request, lists),
        "members": members_to_suggest(),
        "receipts_due": receipts_due(found).count(),
        "most_mails": acts.MOST_MAILS,
    }
    return show(request, "exchange/wishes/lists.html", context)


@require_POST
def receipts(request: MemberRequest, slug: str) -> HttpResponse:
    """Mail the receipts of the lists that were changed since their last one."""
    found = access.round_for_writing(request.user, slug)
    with entered_as_sent():
        sent = acts.mail_receipts_due(round=found, by=request.user, at=now())
    messages.success(request, f"{sent} receipts are on their way.")
    return redirect("wish-lists", slug)


def _page(request: MemberRequest, found: Round, member: Member, **refused: Any) -> HttpResponse:
    """Render a list with its forms; the one that was refused keeps what was typed."""
    wish_list, allowance, at = wish_list_of(found, member), allowance_of(found, member), now()
    main, reserve = numbers_in(wish_list)
    is_own = member == request.user
    form = refused.get("form")
    if form is None or not form.is_bound:
        form = WishesForm(initial={"main": main, "reserve": reserve})
    context = {
        "round": found,
        "stage": stage_of(found, at),
        "member": member,
        "is_own": is_own,
        "address": _address(found, "" if is_own else member.number),
        "form": form,
        "put_form": refused.get("put_form") or PutWishesForm(),
        "wish_list": wish_list,
        "rows": wish_rows(found, member, main, reserve, today().year),
        "main": len(main),
        "reserve": len(reserve),
        "allowance": allowance,
        "warning": short_list_words(found, allowance, wish_list) if wish_list else "",
        "may_change": found.takes_wishes_at(at) or (not is_own and not found.frozen_at),
    }
    return show(request, "exchange/wishes/wishes.html", context)


def _who(request: MemberRequest, found: Round, member: Member) -> dict[str, Any]:
    return {"round": found, "member": member, "by": request.user, "at": now()}


def _whose(request: MemberRequest, member_number: str) -> Member:
    return access.member_for_wishes(request.user, member_number) if member_number else request.user


def _address(found: Round, member_number: str) -> str:
    if member_number:
        return reverse("wishes-for-member", args=[found.slug, member_number])
    return reverse("wishes", args=[found.slug])


def _number(text: str) -> int:
    return int(text) if text.isascii() and text.isdecimal() and len(text) < 7 else 0


def _wishable(request: MemberRequest, slug: str) -> Round:
    found = access.round_for_reading(request.user, slug)
    if not access.may_read_list(request.user, found, now()):
        raise PermissionDenied("The list is not open yet.")
    return found
