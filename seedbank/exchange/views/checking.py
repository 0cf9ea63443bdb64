"""What anybody needs to check a sharing-out, a member or not: its files, and the way to do it."""

from django.contrib.auth.decorators import login_not_required
from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404

from crosses.base.pages import show
from seedbank.exchange import access
from seedbank.exchange.models import AllocationRun, Round
from seedbank.exchange.queries.results import runs_of
from seedbank.exchange.verifier import FILENAME, verifier
from seedbank.members.models import Member


@login_not_required
def check_page(request: HttpRequest, slug: str) -> HttpResponse:
    """Every run's files with their digests, and how to check them."""
    found = _published_round(request, slug)
    context = {"round": found, "runs": runs_of(found), "filename": FILENAME}
    return show(request, "exchange/allocation/check.html", context)


@login_not_required
def bundle(request: HttpRequest, slug: str, part: str) -> HttpResponse:
    """Hand out the exact bytes a run was shared out from, or that came of it; `?run=` says which."""
    if part not in {"inputs", "result"}:
        raise Http404
    found = _published_round(request, slug)
    run = _run(found, request.GET.get("run", ""))
    name = f"{slug}-{part}-{run.position}.json"
    return HttpResponse(
        run.inputs if part == "inputs" else run.result,
        content_type="application/json",
        headers={"Content-Disposition": f'attachment; filename="{name}"'},
    )


@login_not_required
def verifier_file(request: HttpRequest) -> HttpResponse:
    return HttpResponse(
        verifier(),
        content_type="application/zip",
        headers={"Content-Disposition": f'attachment; filename="{FILENAME}"'},
    )


def _published_round(request: HttpRequest, slug: str) -> Round:
    """Return an announced round, for anybody; before that, and with numbers in it, the keeper's."""
    found = access.published_round(slug)
    if found is None:
        if not isinstance(request.user, Member):
            raise Http404
        found = access.round_for_reading(request.user, slug)
        if not access.may_keep(request.user):
            raise PermissionDenied(
                "The files of this round hold member numbers: the seed keeper has them."
                if found.announced_at
                else "The result is not announced yet."
            )
    return found


def _run(found: Round, position: str) -> AllocationRun:
    runs = found.runs.order_by("-position")
    if position:
        wanted = int(position) if position.isascii() and position.isdecimal() else 0
        return get_object_or_404(runs, position=min(wanted, 32767))
    run = runs.first()
    if run is None:
        raise Http404("The seed is not shared out yet.")
    return run
