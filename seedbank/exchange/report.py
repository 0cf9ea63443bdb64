"""The year's report on paper: what it says is in queries.report, how it looks in templates/print."""

from django.template.loader import render_to_string

from crosses.base.pdf import render_pdf
from seedbank.exchange.queries.report import Report


def report_pdf(report: Report, *, society_name: str) -> bytes:
    html = render_to_string("print/report.html", {"report": report, "society_name": society_name})
    return render_pdf(html, stylesheet="report.css")
