import re
import secrets
import time
from pathlib import Path

from django import forms
from django.conf import settings
from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render

from crosses.base.clock import now, today
from crosses.calc.errors import BadInput
from seedbank.formats.tables import DEFAULT_LIMITS
from seedbank.members.http import MemberRequest
from seedbank.transfer.cells import Importing
from seedbank.transfer.importing import ImportReport, Kind, import_table
from seedbank.transfer.kinds import KINDS

A_DAY = 24 * 3600
SESSION_KEY = "import"


class TableForm(forms.Form):
    table = forms.FileField(label="CSV or XLSX file")

    def clean_table(self) -> object:
        table = self.cleaned_data["table"]
        if table.size > DEFAULT_LIMITS.max_bytes:
            most = DEFAULT_LIMITS.max_bytes // 1_000_000
            raise forms.ValidationError(f"The file is larger than {most} MB. Send it in parts.")
        return table


def choose(request: MemberRequest) -> HttpResponse:
    """Which kinds of tables this member may bring in."""
    kinds = [kind for kind in KINDS.values() if kind.may_be_brought_by(request.user)]
    return render(request, "web/transfer/choose.html", {"kinds": kinds})


def table(request: MemberRequest, name: str) -> HttpResponse:
    """Look at a file first, row by row; only the second button saves it."""
    kind = _kind(request, name)
    if "confirm" in request.POST:
        return _confirm(request, kind)
    form = TableForm(request.POST or None, request.FILES or None)
    report = None
    if request.method == "POST" and form.is_valid():
        upload = form.cleaned_data["table"]
        data = upload.read()
        report = _report(request, kind, form, data, upload.name, is_trial=True)
        if report is not None and not report.problems:
            _keep(request, kind, data, upload.name)
    context = {"kind": kind, "form": form, "report": report}
    refused = form.errors or (report and report.problems)
    return render(request, "web/transfer/table.html", context, status=422 if refused else 200)


def _confirm(request: MemberRequest, kind: Kind) -> HttpResponse:
    kept = request.session.pop(SESSION_KEY, None)
    path = _folder() / str(kept["file"]) if kept and kept["kind"] == kind.name else None
    if path is None or not path.exists():
        messages.error(request, "The file is no longer here. Choose it again.")
        return redirect("import-table", kind.name)
    form = TableForm()
    report = _report(request, kind, form, path.read_bytes(), kept["name"], is_trial=False)
    path.unlink()
    if report is not None and report.is_saved:
        messages.success(request, report.sentence)
        return redirect("import-choose")
    context = {"kind": kind, "form": form, "report": report}
    return render(request, "web/transfer/table.html", context, status=422)


def _report(
    request: MemberRequest,
    kind: Kind,
    form: TableForm,
    data: bytes,
    filename: str,
    *,
    is_trial: bool,
) -> ImportReport | None:
    importing = Importing(request.user, now(), today())
    try:
        return import_table(kind, data, filename, importing, is_trial=is_trial)
    except BadInput as wrong:
        form.add_error("table" if form.is_bound else None, wrong.message)
        return None


def _keep(request: MemberRequest, kind: Kind, data: bytes, filename: str) -> None:
    """Lay the file aside until it is confirmed, for this session alone and for a day at most."""
    folder = _folder()
    for old in folder.iterdir():
        if time.time() - old.stat().st_mtime > A_DAY:
            old.unlink(missing_ok=True)
    name = f"{secrets.token_hex(16)}.bin"
    (folder / name).write_bytes(data)
    suffix = re.sub(r"[^\w. -]", "", filename)[-80:]
    request.session[SESSION_KEY] = {"kind": kind.name, "file": name, "name": suffix}


def _folder() -> Path:
    folder = settings.VAR_DIR / "imports"
    folder.mkdir(parents=True, exist_ok=True, mode=0o700)
    return Path(folder)


def _kind(request: MemberRequest, name: str) -> Kind:
    kind = KINDS.get(name)
    if kind is None:
        raise Http404
    if not kind.may_be_brought_by(request.user):
        raise PermissionDenied(f"{kind.brought_by.capitalize()} brings these in.")
    return kind
