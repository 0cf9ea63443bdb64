"""The year's report of a round, for the keeper to put before the society."""

from django.conf import settings
from django.http import HttpResponse, StreamingHttpResponse

from crosses.base.pages import show
from seedbank.exchange import access
from seedbank.exchange.queries.report import report_of, report_rows
from seedbank.exchange.report import report_pdf
from seedbank.formats.tables import write_csv
from seedbank.members.http import MemberRequest

HEADINGS = ("part", "what", "figure", "how it was reckoned")


def report_page(request: MemberRequest, slug: str) -> HttpResponse:
    report = report_of(access.round_for_writing(request.user, slug))
    return show(request, "exchange/report/report.html", {"report": report})


def report_download(request: MemberRequest, slug: str) -> StreamingHttpResponse:
    report = report_of(access.round_for_writing(request.user, slug))
    response = StreamingHttpResponse(
        write_csv(report_rows(report), HEADINGS, bom=True),
        content_type="text/csv; charset=utf-8",
    )
    response["Content-Disposition"] = f'attachment; filename="{slug}-report.csv"'
    return response


def report_print(request: MemberRequest, slug: str) -> HttpResponse:
    report = report_of(access.round_for_writing(request.user, slug))
    pdf = report_pdf(report, society_name=settings.SOCIETY_NAME)
    headers = {"Content-Disposition": f'attachment; filename="{slug}-report.pdf"'}
    return HttpResponse(pdf, content_type="application/pdf", headers=headers)
