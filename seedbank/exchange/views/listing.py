from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.forms import Form
from django.http import FileResponse, HttpResponse, StreamingHttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import redirect
from django.views.decorators.http import require_POST

from crosses.base.changing import acts_on, change_form
from crosses.base.clock import now, today
from crosses.base.pages import KeyedForm, carry_out, carry_out_or_say, page_of, show
from seedbank.exchange import access
from seedbank.exchange.actions import listing as acts
from seedbank.exchange.catalogue import catalogue_html, kept_catalogue
from seedbank.exchange.forms import (
    BarForm,
    LineForm,
    ListFilterForm,
    LotsForm,
    ReasonForm,
)
from seedbank.exchange.jobs import CATALOGUE
from seedbank.exchange.models import ListLine
from seedbank.exchange.queries import listing as queries
from seedbank.exchange.queries.catalogue import catalogue_of
from seedbank.exchange.queries.inputs import barred_promises
from seedbank.exchange.queries.round import allowance_of, stage_of
from seedbank.exchange.queries.tables import LIST_HEADINGS, list_rows
from seedbank.exchange.views.answers import taken_back_words
from seedbank.formats.tables import write_csv
from seedbank.jobs.actions import queue_job
from seedbank.members.http import MemberRequest


def list_page(request: MemberRequest, slug: str) -> HttpResponse:
    found, at = access.round_for_reading(request.user, slug), now()
    if not access.may_read_list(request.user, found, at):
        raise PermissionDenied("The list is not open yet.")
    form = ListFilterForm(request.GET or None)
    lines = queries.narrowed(access.lines_visible_to(request.user, found, at), form.filters)
    page = page_of(request, queries.lines_with_kinds(lines).order_by("line_number"), per_page=100)
    context = {
        "round": found,
        "stage": stage_of(found, at),
        "form": form,
        "page_obj": page,
        "listed": queries.listed_lines(found, page, request.user, today().year),
        "print_form": KeyedForm(),
        "genera": queries.genera_listed(found),
        "allowance": allowance_of(found, request.user),
        "wished": len(queries.wished_ranks(found, request.user)),
        "takes_wishes": found.takes_wishes_at(at),
    }
    return show(request, "exchange/listing/list.html", context)


def list_download(request: MemberRequest, slug: str) -> StreamingHttpResponse:
    found, at = access.round_for_reading(request.user, slug), now()
    if not access.may_read_list(request.user, found, at):
        raise PermissionDenied("The list is not open yet.")
    lines = queries.lines_with_kinds(access.lines_visible_to(request.user, found, at)).order_by(
        "line_number"
    )
    listed = queries.listed_lines(found, lines, request.user, today().year)
    # The mark at the front is what makes common spreadsheets read accents and the × right.
    response = StreamingHttpResponse(
        write_csv(list_rows(listed), LIST_HEADINGS, bom=True),
        content_type="text/csv; charset=utf-8",
    )
    response["Content-Disposition"] = f'attachment; filename="{found.slug}-list.csv"'
    return response


@require_POST
def list_catalogue(request: MemberRequest, slug: str) -> HttpResponseBase:
    """Give the printed list; one that is not laid out yet is made in the background."""
    found, at = access.round_for_reading(request.user, slug), now()
    if not access.may_read_list(request.user, found, at):
        raise PermissionDenied("The list is not open yet.")
    html = catalogue_html(catalogue_of(found, today().year))
    kept = kept_catalogue(html, slug)
    if kept is not None:
        return FileResponse(kept.open("rb"), as_attachment=True, filename=f"{slug}-list.pdf")
    form = KeyedForm(request.POST)
    job = queue_job(
        kind=CATALOGUE,
        title=f"Printed list of {found.name}",
        by=request.user,
        at=at,
        arguments={"round": slug},
        client_key=form.cleaned_data["client_key"] if form.is_valid() else None,
    )
    return redirect("job-detail", job.pk)


def list_edit(request: MemberRequest, slug: str) -> HttpResponse:
    found = access.round_for_writing(request.user, slug)
    choice = queries.lots_to_list(found)
    form = LotsForm(request.POST if request.method == "POST" else None, choice=choice)
    if request.method == "POST":
        chosen = list(choice) if "all" in request.POST else []
        if not chosen and form.is_valid():
            chosen = list(form.cleaned_data["lots"])
        added = None
        if chosen:
            added = carry_out(
                form, lambda: acts.add_lines(round=found, lots=chosen, by=request.user, at=now())
            )
        if added:
            messages.success(request, f"{len(added)} lots are on the list.")
            return redirect("list-edit", slug)
    lines = queries.lines_with_kinds(access.lines_visible_to(request.user, found, now()))
    context = {"round": found, "form": form, "lots": choice, "lines": queries.in_list_order(lines)}
    return show(request, "exchange/listing/edit.html", context)


@require_POST
def list_publish(request: MemberRequest, slug: str) -> HttpResponse:
    found = access.round_for_writing(request.user, slug)
    is_published = carry_out_or_say(
        request,
        lambda: acts.publish_list(round=found, by=request.user, at=now()),
        "The list is published; its numbers stand for good.",
    )
    return redirect("list-page" if is_published else "list-edit", slug)


def line_change(request: MemberRequest, slug: str, line_number: int) -> HttpResponse:
    line = access.line_for_writing(request.user, slug, line_number)
    form = change_form(request, line, lambda sent, line: LineForm(sent, correcting=line))
    if (
        request.method == "POST"
        and form.is_valid()
        and carry_out(
            form,
            lambda: acts.change_line(line=line, by=request.user, at=now(), **form.facts()),
        )
        is not None
    ):
        messages.success(request, f"Line {line_number} is changed.")
        return redirect("list-edit", slug)
    return _line_page(request, line, form=form)


@require_POST
def line_withdraw(request: MemberRequest, slug: str, line_number: int) -> HttpResponse:
    line = access.line_for_writing(request.user, slug, line_number)
    form = acts_on(line, ReasonForm(request.POST))
    if form.is_valid():
        done = carry_out(
            form,
            lambda: acts.withdraw_line(
                line=line, by=request.user, at=now(), reason=form.cleaned_data["reason"]
            ),
        )
        if done is not None:
            messages.success(request, f"Line {line_number} is withdrawn.{taken_back_words(done)}")
            return redirect("list-edit", slug)
    return _line_page(request, line, reason_form=form)


@require_POST
def line_remove(request: MemberRequest, slug: str, line_number: int) -> HttpResponse:
    line = access.line_for_writing(request.user, slug, line_number)
    carry_out_or_say(request, lambda: acts.remove_line(line=line, by=request.user, at=now()))
    return redirect("list-edit", slug)


@require_POST
def line_bar(request: MemberRequest, slug: str, line_number: int) -> HttpResponse:
    line = access.line_for_writing(request.user, slug, line_number)
    form = BarForm(request.POST)
    if (
        form.is_valid()
        and carry_out(
            form, lambda: acts.bar_line(line=line, by=request.user, at=now(), **form.cleaned_data)
        )
        is not None
    ):
        standing = sum(item.line_id == line.pk for item, _words in barred_promises(line.round))
        against = (
            f" It is promised there already ({standing}): give that up under Share out."
            if standing and line.round.announced_at
            else ""
        )
        messages.success(request, f"Line {line_number} is barred there.{against}")
        return redirect("line-change", slug, line_number)
    return _line_page(request, line, bar_form=form)


def _line_page(request: MemberRequest, line: ListLine, **refused: Form) -> HttpResponse:
    """Render a line with its three forms; the one that was refused keeps what was typed."""
    forms = {
        "form": acts_on(line, LineForm(correcting=line)),
        "bar_form": BarForm(),
        "reason_form": ReasonForm(),
    }
    context = {"line": line, "given": queries.packets_given(line)}
    return show(request, "exchange/listing/line.html", context | forms | refused)


@require_POST
def line_unbar(request: MemberRequest, slug: str, line_number: int) -> HttpResponse:
    line = access.line_for_writing(request.user, slug, line_number)
    acts.lift_bar(line=line, by=request.user, at=now(), country=request.POST.get("country", ""))
    return redirect("line-change", slug, line_number)
