"""What a round left over, first come first served."""

import uuid

from django.core.exceptions import PermissionDenied
from django.http import HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.views.decorators.http import require_POST

from crosses.base.changing import acts_on, change_form
from crosses.base.clock import now, today
from crosses.base.pages import carry_out, carry_out_or_say, page_of, show
from seedbank.exchange import access
from seedbank.exchange.actions import surplus as acts
from seedbank.exchange.forms import ListFilterForm, SurplusForm
from seedbank.exchange.models import Round
from seedbank.exchange.queries.listing import listed_lines, narrowed
from seedbank.exchange.queries.surplus import lines_left, surplus_of, taken_by
from seedbank.members.http import MemberRequest


def surplus_page(request: MemberRequest, slug: str) -> HttpResponse:
    found = _announced(request, slug)
    return _page(request, found, None)


@require_POST
def surplus_set(request: MemberRequest, slug: str) -> HttpResponse:
    """The keeper says when the surplus opens and closes, and the limit each."""
    found = access.round_for_writing(request.user, slug)
    known = surplus_of(found, request.user, now()).surplus
    form = (
        change_form(request, known, lambda sent, known: SurplusForm(sent, initial=vars(known)))
        if known
        else SurplusForm(request.POST)
    )
    if form.is_valid():
        saved = carry_out(
            form,
            lambda: acts.set_surplus(round=found, by=request.user, at=now(), **form.cleaned_data),
        )
        if saved is not None:
            return redirect("surplus", slug)
    return _page(request, found, form)


@require_POST
def surplus_take(request: MemberRequest, slug: str) -> HttpResponse:
    found = _announced(request, slug)
    line_number = request.POST.get("line", "")[:6]
    carry_out_or_say(
        request,
        lambda: acts.take_surplus(
            round=found,
            member=request.user,
            line_number=int(line_number) if line_number.isdecimal() else 0,
            by=request.user,
            at=now(),
            client_key=_key(request.POST.get("client_key", ""), line_number),
        ),
        f"A packet of line {line_number} is yours.",
    )
    return redirect(f"{reverse('surplus', args=[slug])}{_query(request)}")


@require_POST
def surplus_back(request: MemberRequest, slug: str, key: int) -> HttpResponse:
    item = access.surplus_item_for_writing(request.user, slug, key)
    carry_out_or_say(
        request,
        lambda: acts.give_surplus_back(item=item, by=request.user, at=now()),
        "Given back: somebody else can take it now.",
    )
    return redirect("surplus", slug)


def _page(request: MemberRequest, found: Round, form: SurplusForm | None) -> HttpResponse:
    at = now()
    filters = ListFilterForm(request.GET or None)
    stage = surplus_of(found, request.user, at)
    lines = lines_left(narrowed(access.lines_visible_to(request.user, found, at), filters.filters))
    page = page_of(request, lines, per_page=100)
    if form is None and access.may_keep(request.user):
        initial = vars(stage.surplus) if stage.surplus else None
        form = acts_on(stage.surplus, SurplusForm(initial=initial))
    context = {
        "round": found,
        "stage": stage,
        "page_obj": page,
        "listed": zip(page, listed_lines(found, page, request.user, today().year), strict=True),
        "taken": taken_by(found, request.user),
        "filters": filters,
        "form": form,
        "client_key": uuid.uuid4(),
    }
    return show(request, "exchange/surplus/surplus.html", context)


def _announced(request: MemberRequest, slug: str) -> Round:
    found = access.round_for_reading(request.user, slug)
    if not found.announced_at:
        raise PermissionDenied("The result is not announced yet; nobody knows what is left.")
    return found


def _key(page_key: str, line_number: str) -> uuid.UUID | None:
    """Return the key of one line's button: a page has one key, and many buttons."""
    try:
        return uuid.uuid5(uuid.UUID(page_key), line_number)
    except ValueError:
        return None


def _query(request: MemberRequest) -> str:
    return f"?{request.GET.urlencode()}" if request.GET else ""
