from django.http import FileResponse, Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.views.decorators.http import require_POST

from crosses.base.clock import now
from crosses.base.pages import carry_out_or_say, page_of, show
from seedbank.jobs import access
from seedbank.jobs.actions import stop_job
from seedbank.jobs.files import result_path
from seedbank.jobs.queries import job_page
from seedbank.jobs.starting import look_after


def job_list(request: HttpRequest) -> HttpResponse:
    page = page_of(request, access.jobs_visible_to(request.user))
    look_after(page)
    return show(request, "jobs/list.html", {"page_obj": page})


def job_detail(request: HttpRequest, key: int) -> HttpResponse:
    """How far the work is; whoever looks at work that nobody does calls a worker again."""
    job = access.job_for_reading(request.user, key)
    look_after([job])
    return show(request, "jobs/detail.html", {"page": job_page(job, now()), "job": job})


def job_file(request: HttpRequest, key: int) -> FileResponse:
    job = access.job_for_fetching(request.user, key)
    path = result_path(job)
    if path is None:
        raise Http404("There is no file, or it is no longer kept.")
    answer = FileResponse(path.open("rb"), as_attachment=True, filename=job.result_name)
    # It may hold addresses, which belong in no shared cache.
    answer.headers["Cache-Control"] = "private, no-store"
    return answer


@require_POST
def job_stop(request: HttpRequest, key: int) -> HttpResponse:
    job = access.job_for_reading(request.user, key)
    carry_out_or_say(request, lambda: stop_job(job=job, by=request.user, at=now()), "Stopped.")
    return redirect("job-detail", key)
