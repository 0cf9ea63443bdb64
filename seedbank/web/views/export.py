import tempfile
from pathlib import Path

from django.core.exceptions import PermissionDenied
from django.http import FileResponse, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_POST

from crosses.base.clock import now
from crosses.base.sending import entered_as_sent
from seedbank.formats.mcpd import HEADER, write_passports
from seedbank.formats.tables import write_csv, write_xlsx
from seedbank.jobs.actions import queue_job
from seedbank.members.http import MemberRequest
from seedbank.transfer.archive.export import export_own
from seedbank.transfer.jobs import EXPORT
from seedbank.transfer.passport import passports_of

# It tells of one person, so it belongs in no shared cache.
PRIVATE = "private, no-store"


def export(request: MemberRequest) -> HttpResponse:
    """What can be taken out, and in which form."""
    return render(request, "web/transfer/export.html")


def export_mine(request: MemberRequest) -> FileResponse:
    """Everything a member owns, as one file."""
    file = tempfile.TemporaryFile()  # noqa: SIM115  the answer closes it when it is sent
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "mine.zip"
        export_own(path, member=request.user, at=now())
        file.write(path.read_bytes())
    file.seek(0)
    name = f"seed-records-{request.user.number}.zip"
    answer = FileResponse(file, as_attachment=True, filename=name)
    answer.headers["Cache-Control"] = PRIVATE
    return answer


def export_passports(request: MemberRequest, form: str) -> HttpResponse:
    """Plants and seed lots as passport data (MCPD V2.1)."""
    rows = write_passports(passports_of(request.user))
    if form == "csv":
        data = b"".join(write_csv(rows, HEADER))
        kind = "text/csv; charset=utf-8"
    else:
        data = write_xlsx(rows, HEADER, sheet="MCPD V2.1")
        kind = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
    response = HttpResponse(data, content_type=kind)
    response["Content-Disposition"] = f'attachment; filename="passports.{form}"'
    response.headers["Cache-Control"] = PRIVATE
    return response


@require_POST
def export_all(request: MemberRequest) -> HttpResponse:
    """The whole society, in the background; addresses are in it, so it is the administrator's."""
    if not request.user.is_superuser:
        raise PermissionDenied("The administrator takes the whole society out.")
    with entered_as_sent():
        job = queue_job(kind=EXPORT, title="The whole society as tables", by=request.user, at=now())
    return redirect("job-detail", job.pk)
