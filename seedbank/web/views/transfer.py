import uuid
from collections.abc import Callable

from django import forms
from django.http import Http404, HttpRequest, HttpResponse, QueryDict
from django.shortcuts import redirect, render
from django.views.decorators.csrf import csrf_exempt, csrf_protect
from django.views.decorators.http import require_POST

from crosses.base.clock import now, today
from crosses.base.pages import carry_out_or_say, show
from crosses.base.sending import begin, entered_as_sent
from seedbank.formats.tables import write_csv
from seedbank.jobs.starting import look_after
from seedbank.members.http import MemberRequest
from seedbank.transfer.access import import_for_writing
from seedbank.transfer.actions import (
    LOOK,
    MOST_BYTES,
    MOST_BYTES_AT_ONCE,
    SAVE,
    bring_in,
    choose_headings,
    do_in_background,
    file_of,
    look_at,
    open_import,
    undo_import,
)
from seedbank.transfer.kind import Kind
from seedbank.transfer.kinds import KINDS
from seedbank.transfer.models import Import
from seedbank.transfer.queries import import_page, kinds_for, latest_imports

# What a form sends beside the file itself.
_BESIDE_THE_FILE = 10_000
_TOO_LARGE = f"The file is larger than {MOST_BYTES // 1_000_000} MB. Send it in parts."


class TableForm(forms.Form):
    table = forms.FileField(label="CSV or XLSX file")

    def clean_table(self) -> object:
        table = self.cleaned_data["table"]
        if table.size > MOST_BYTES:
            raise forms.ValidationError(_TOO_LARGE)
        return table


class MatchForm(forms.Form):
    """Which heading of a file is which column."""

    def __init__(self, brought: Import, data: QueryDict | None = None) -> None:
        headings = brought.report.get("headings", {})
        super().__init__(data, initial=headings)
        header = brought.report.get("header", [])
        choices = [("", "not in this file"), *((heading, heading) for heading in header)]
        for column in KINDS[brought.kind].columns:
            self.fields[column.name] = forms.ChoiceField(
                label=column.name,
                choices=choices,
                required=column.required,
                help_text=column.help,
            )


def choose(request: MemberRequest) -> HttpResponse:
    """Which kinds of tables this member may bring in, and what came in lately."""
    context = {"kinds": kinds_for(request.user), "latest": latest_imports(request.user, now())}
    return show(request, "web/transfer/choose.html", context)


def refused_unread(view: Callable[..., HttpResponse]) -> Callable[..., HttpResponse]:
    """Refuse what is too large by what its sender says of it, before a byte of it is read.

    The guard against forged forms reads the form, so it stands behind this one.
    """

    def once(request: HttpRequest, *args: object, **kwargs: object) -> HttpResponse:
        return begin(request) or view(request, *args, **kwargs)

    guarded = csrf_protect(once)

    def refuse_or_view(request: HttpRequest, *args: object, **kwargs: object) -> HttpResponse:
        length = request.headers.get("Content-Length", "")
        if length.isdigit() and int(length) > MOST_BYTES + _BESIDE_THE_FILE:
            context = {"refused": _TOO_LARGE}
            return render(request, "web/transfer/too_large.html", context, status=413)
        return guarded(request, *args, **kwargs)

    return csrf_exempt(refuse_or_view)


@refused_unread
def table(request: MemberRequest, name: str) -> HttpResponse:
    """Lay a file aside and look at it; what it would do is shown on a page of its own."""
    kind = _kind(request, name)
    form = TableForm(request.POST or None, request.FILES or None)
    if request.method == "POST" and form.is_valid():
        upload = form.cleaned_data["table"]
        with entered_as_sent():
            brought = open_import(
                kind=kind, file=upload, file_name=upload.name, by=request.user, at=now()
            )
        return _look(request, brought)
    context = {"kind": kind, "form": form}
    return show(request, "web/transfer/table.html", context)


def template(request: MemberRequest, name: str) -> HttpResponse:
    """A file with the headings of a kind, to be filled."""
    kind = _kind(request, name)
    header = [column.name for column in kind.columns]
    response = HttpResponse(
        b"".join(write_csv([], header, bom=True)), content_type="text/csv; charset=utf-8"
    )
    response["Content-Disposition"] = f'attachment; filename="{kind.name}.csv"'
    return response


def look(request: MemberRequest, token: uuid.UUID) -> HttpResponse:
    """What a file would do, row by row, or has done."""
    page = import_page(import_for_writing(request.user, token), now())
    look_after([page.job] if page.job else [])
    form = MatchForm(page.brought)
    return show(request, "web/transfer/look.html", {"page": page, "form": form})


@require_POST
def match(request: MemberRequest, token: uuid.UUID) -> HttpResponse:
    """Take which heading is which column, and look at the file again."""
    brought = import_for_writing(request.user, token)
    form = MatchForm(brought, request.POST)
    if not form.is_valid():
        context = {"page": import_page(brought, now()), "form": form}
        return show(request, "web/transfer/look.html", context)
    if not carry_out_or_say(
        request, lambda: choose_headings(brought=brought, chosen=form.cleaned_data)
    ):
        return redirect("import-look", token)
    return _look(request, brought)


@require_POST
def confirm(request: MemberRequest, token: uuid.UUID) -> HttpResponse:
    brought = import_for_writing(request.user, token)
    _kind(request, brought.kind)
    if _is_large(brought):
        carry_out_or_say(
            request,
            lambda: do_in_background(brought=brought, work=SAVE, by=request.user, at=now()),
        )
    else:
        carry_out_or_say(request, lambda: bring_in(brought=brought, at=now(), today=today()))
    return redirect("import-look", token)


@require_POST
def undo(request: MemberRequest, token: uuid.UUID) -> HttpResponse:
    brought = import_for_writing(request.user, token)
    carry_out_or_say(
        request,
        lambda: undo_import(brought=brought, by=request.user, at=now()),
        f"{brought.file_name} was taken back.",
    )
    return redirect("import-look", token)


def _look(request: MemberRequest, brought: Import) -> HttpResponse:
    if _is_large(brought):
        do_in_background(brought=brought, work=LOOK, by=request.user, at=now())
    else:
        carry_out_or_say(request, lambda: look_at(brought=brought, at=now(), today=today()))
    return redirect("import-look", brought.token)


def _is_large(brought: Import) -> bool:
    path = file_of(brought)
    return path.exists() and path.stat().st_size > MOST_BYTES_AT_ONCE


def _kind(request: MemberRequest, name: str) -> Kind:
    kind = KINDS.get(name)
    if kind is None:
        raise Http404
    kind.refuse_unless_by(request.user)
    return kind
