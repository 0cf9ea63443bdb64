"""A form sent twice is carried out once: a double tap, a retry, a page gone back to.

Every form carries a key that was made when it was shown (the `csrf_token` of our templates writes it).
`carry_out` enters the key and what was typed as sent, in the transaction of the act itself. The same
form with the same words then leads where it led before. What a rule refused was not done, and may be
sent again; a form gone back to and filled with other words is another one.
"""

import datetime
import hashlib
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass
from typing import Any

from django.conf import settings
from django.contrib import messages
from django.core.files.uploadedfile import UploadedFile
from django.db import IntegrityError, transaction
from django.http import HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import redirect

from crosses.base.clock import now
from crosses.models.sent_form import SentForm

FORM_KEY = "form_key"
KEPT = datetime.timedelta(days=30)
# How long a second send waits for the page of the first, which is written when the act is done.
WAITS = 40
PAUSE_SECONDS = 0.05

_FORMS = SentForm._default_manager  # noqa: SLF001  the documented name of the manager


@dataclass
class Sending:
    """The form that is being sent just now, and whether an act was carried out for it."""

    digest: str
    is_entered: bool = False


class SentBefore(Exception):  # noqa: N818  an answer, not an error of ours
    """Another send of the same form was carried out."""


# What a page does for a form is several calls deep, and none of them has use for it but `carry_out`.
_current: ContextVar[Sending | None] = ContextVar("sending", default=None)


class ShownAgain(Exception):  # noqa: N818  an answer, not an error of ours
    """The form is only shown again with what was typed; its act is not to be done."""


_is_shown_again: ContextVar[bool] = ContextVar("shown again", default=False)


@contextmanager
def shown_again() -> Iterator[None]:
    """Let pages render what was sent, and do nothing that it asks for."""
    before = _is_shown_again.set(True)
    try:
        yield
    finally:
        _is_shown_again.reset(before)


@contextmanager
def entered_as_sent(*, once: bool = True) -> Iterator[None]:
    """Enter the form in hand as sent, in the transaction of the act that is done inside."""
    if _is_shown_again.get():
        raise ShownAgain
    sending = _current.get()
    if sending is None or sending.is_entered or not once:
        yield
        return
    with transaction.atomic():
        # Of two that arrive at one moment the second waits here until the first is done.
        try:
            _FORMS.create(digest=sending.digest, at=now())
        except IntegrityError as twice:
            raise SentBefore from twice
        yield
    sending.is_entered = True


def clear_sent_forms(*, at: datetime.datetime) -> int:
    """Forget the forms that nobody will send again."""
    return _FORMS.filter(at__lt=at - KEPT).delete()[0]


class OnceOnly:
    """Answers a form that was sent before as it was answered then."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponseBase]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponseBase:
        before = _current.set(None)
        try:
            response = self.get_response(request)
            sending = _current.get()
            if sending is not None and sending.is_entered:
                _keep_answer(sending, response)
            return response
        finally:
            _current.reset(before)

    def process_view(
        self, request: HttpRequest, view: Any, args: Any, kwargs: Any
    ) -> HttpResponse | None:
        # A view that guards itself reads its form itself.
        if request.method != "POST" or getattr(view, "csrf_exempt", False):
            return None
        return begin(request)

    def process_exception(self, request: HttpRequest, error: Exception) -> HttpResponse | None:
        sending = _current.get()
        if sending is None or not isinstance(error, SentBefore):
            return None
        return _answer_again(request, sending.digest)


def begin(request: HttpRequest) -> HttpResponse | None:
    """Take a form in hand; return the answer if it was carried out before."""
    if not request.POST.get(FORM_KEY):
        return None
    sending = Sending(_digest(request))
    _current.set(sending)
    if _FORMS.filter(digest=sending.digest).exists():
        return _answer_again(request, sending.digest)
    return None


def _digest(request: HttpRequest) -> str:
    typed = [
        (name, value)
        for name, values in sorted(request.POST.lists())
        if name != "csrfmiddlewaretoken"
        for value in values
    ]
    files = [
        (name, file.name, _digest_of_file(file))
        for name, sent in sorted(request.FILES.lists())
        for file in sent
    ]
    sent = (getattr(request.user, "pk", None), request.get_full_path(), typed, files)
    return hashlib.sha256(repr(sent).encode()).hexdigest()


def _digest_of_file(file: "UploadedFile[Any]") -> str:
    digest = hashlib.sha256()
    for chunk in file.chunks():
        digest.update(chunk)
    file.seek(0)
    return digest.hexdigest()


def _keep_answer(sending: Sending, response: HttpResponseBase) -> None:
    entered = _FORMS.filter(digest=sending.digest)
    if response.status_code >= 400:
        # Part of it was done, part refused: what was done has keys of its own.
        entered.delete()
    elif response.status_code in {302, 303}:
        entered.update(address=response.headers["Location"])


def _answer_again(request: HttpRequest, digest: str) -> HttpResponse:
    for _ in range(WAITS):
        sent = _FORMS.filter(digest=digest).first()
        if sent is None or sent.address or sent.at < now() - datetime.timedelta(seconds=5):
            break
        time.sleep(PAUSE_SECONDS)
    if sent is not None and sent.address:
        return redirect(sent.address)
    messages.warning(request, "You sent this before, and it is done. Nothing was done again.")
    return redirect(settings.LOGIN_REDIRECT_URL)
