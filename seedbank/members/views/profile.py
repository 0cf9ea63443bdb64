from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST

from crosses.base.changing import change_form
from crosses.base.clock import now
from crosses.base.pages import carry_out, show
from seedbank.members.access import token_for_writing
from seedbank.members.actions.member import save_address
from seedbank.members.actions.token import make_token, revoke_token
from seedbank.members.forms import AddressForm, TokenForm
from seedbank.members.http import MemberRequest
from seedbank.members.queries import address_of, tokens_of


def profile(request: MemberRequest) -> HttpResponse:
    context = {
        "address": address_of(request.user),
        "tokens": tokens_of(request.user),
        "form": TokenForm(),
    }
    return show(request, "members/profile/profile.html", context)


def address(request: MemberRequest) -> HttpResponse:
    """One's own address; nobody changes another's here."""
    known = address_of(request.user)
    form = (
        change_form(request, known, lambda sent, known: AddressForm(sent, initial=vars(known)))
        if known
        else AddressForm(request.POST or None, initial={"country": request.user.country})
    )
    if request.method == "POST" and form.is_valid():
        saved = carry_out(
            form, lambda: save_address(member=request.user, by=request.user, **form.cleaned_data)
        )
        if saved is not None:
            messages.success(request, "Your address is saved.")
            return redirect("profile")
    return show(request, "members/profile/address.html", {"form": form})


@require_POST
@never_cache
def add_token(request: MemberRequest) -> HttpResponse:
    """Make a key and show it once; it is in no message, session or mail, so there is no redirect."""
    form = TokenForm(request.POST)
    if form.is_valid():
        made = carry_out(
            form,
            lambda: make_token(
                member=request.user,
                name=form.cleaned_data["name"],
                at=now(),
                life=form.life(),
                scope=form.cleaned_data["scope"],
            ),
        )
        if made is not None:
            token, secret = made
            context = {"token": token, "secret": secret}
            return show(request, "members/profile/token.html", context)
    context = {
        "address": address_of(request.user),
        "tokens": tokens_of(request.user),
        "form": form,
    }
    return show(request, "members/profile/profile.html", context)


@require_POST
def drop_token(request: MemberRequest, key: int) -> HttpResponse:
    token = token_for_writing(request.user, key)
    revoke_token(token=token, at=now())
    messages.success(request, f"The key “{token.name}” opens nothing any more.")
    return redirect("profile")
