"""A form that is sent when its sender is no longer signed in: what was typed is shown again.

It waits in the session of that browser, for an hour, and is shown at the form's own address to whoever
signs in there next. It is not sent by itself: the person sees it and sends it again. No file and no
password is kept.
"""

import copy
import datetime
from collections.abc import Callable
from typing import Any

from django.contrib import messages
from django.contrib.auth.middleware import LoginRequiredMiddleware
from django.contrib.messages.storage import default_storage
from django.core.exceptions import PermissionDenied
from django.db import transaction
from django.http import (
    Http404,
    HttpRequest,
    HttpResponse,
    HttpResponseBase,
    HttpResponseRedirect,
    QueryDict,
)
from django.middleware.csrf import REASON_CSRF_TOKEN_MISSING
from django.shortcuts import redirect, render
from django.utils.datastructures import MultiValueDict
from django.views import csrf

from crosses.base.clock import now
from crosses.base.sending import ShownAgain, shown_again

_KEPT = "form_not_sent"
KEPT_FOR = datetime.timedelta(hours=1)
MOST_CHARACTERS = 60_000
_NOT_TYPED = {"csrfmiddlewaretoken", "form_key"}


class SignedOut(LoginRequiredMiddleware):
    """Sends who is not signed in to do so, and keeps the form that was sent meanwhile."""

    def handle_no_permission(self, request: HttpRequest, view_func: Any) -> HttpResponseRedirect:
        if request.method == "POST" and keep_typed(request):
            messages.info(
                request,
                "You were signed out. What you typed is kept: sign in to see it and send it.",
            )
        return super().handle_no_permission(request, view_func)

    def process_view(
        self, request: HttpRequest, view_func: Any, view_args: Any, view_kwargs: Any
    ) -> HttpResponseBase | None:
        refused = super().process_view(request, view_func, view_args, view_kwargs)
        if refused is not None or request.method != "GET" or not request.user.is_authenticated:
            return refused
        kept = _take_kept(request)
        if kept is None:
            return None
        return _show(request, kept, lambda again: view_func(again, *view_args, **view_kwargs))


def csrf_failure(request: HttpRequest, reason: str = "") -> HttpResponseBase:
    """Show a form again that was opened before its sender signed in anew in another window.

    One that carries no token at all, or comes from another site, is not of our pages.
    """
    ours = reason.startswith("CSRF token") and reason != REASON_CSRF_TOKEN_MISSING
    if ours and request.user.is_authenticated and keep_typed(request):
        return redirect(request.get_full_path())
    return csrf.csrf_failure(request, reason=reason)


def keep_typed(request: HttpRequest) -> bool:
    """Lay what was typed aside in the session; False where there is nothing or too much of it."""
    typed = QueryDict(mutable=True)
    for name, values in request.POST.lists():
        if name not in _NOT_TYPED:
            typed.setlist(name, values)
    text = typed.urlencode()
    if not text or len(text) > MOST_CHARACTERS or any("password" in name for name in typed):
        return False
    request.session[_KEPT] = {
        "address": request.get_full_path(),
        "typed": text,
        "had_file": bool(request.FILES),
        "until": (now() + KEPT_FOR).isoformat(),
    }
    return True


def _take_kept(request: HttpRequest) -> dict[str, Any] | None:
    """Return what was typed at this address, and keep it no longer."""
    kept: dict[str, Any] | None = request.session.get(_KEPT)
    if kept is None or kept["address"] != request.get_full_path():
        return None
    del request.session[_KEPT]
    return kept if datetime.datetime.fromisoformat(kept["until"]) > now() else None


def _show(
    request: HttpRequest, kept: dict[str, Any], view: Callable[[HttpRequest], HttpResponseBase]
) -> HttpResponseBase:
    """Render the page as if the form had been refused; nothing that it asks for is done."""
    words = "You were signed out; here is what you typed: send it again."
    if kept["had_file"]:
        words += " Choose the file again, too."
    typed = QueryDict(kept["typed"])
    again = _as_sent(request, typed)
    messages.warning(again, words)
    with transaction.atomic(), shown_again():
        try:
            answer = view(again)
        except (Http404, PermissionDenied, ShownAgain):
            answer = None
        # Whatever a page does besides: it was not asked for yet.
        transaction.set_rollback(True)
    if isinstance(answer, HttpResponse) and answer.status_code in {200, 409, 422}:
        answer.status_code = 200
        return answer
    messages.warning(request, words)
    context = {"address": kept["address"], "typed": typed.lists()}
    return render(request, "web/send_again.html", context)


def _as_sent(request: HttpRequest, typed: QueryDict) -> HttpRequest:
    again: Any = copy.copy(request)
    again.method = "POST"
    again.POST = typed
    again._files = MultiValueDict()  # noqa: SLF001  what `FILES` gives; it has no other door
    # What a page says of an act that is not done is said to nobody.
    again._messages = default_storage(again)  # noqa: SLF001  where the message middleware puts it
    # It came past the guard when it was sent, and nothing is done now.
    again._dont_enforce_csrf_checks = True  # noqa: SLF001  the documented name
    request_again: HttpRequest = again
    return request_again
