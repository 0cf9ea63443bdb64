"""The pages of a job: how far it is, its file for whoever asked and may, its failure in words."""

import pytest

from seedbank.jobs.actions import beat, remove_old_files, take_up
from seedbank.jobs.models import Job
from seedbank.jobs.running import run_waiting_jobs
from seedbank.jobs.work import Work
from tests.conftest import NOON
from tests.jobs.test_jobs import LATER, _write_three

pytestmark = pytest.mark.django_db


def _page(client, job):
    return client.get(f"/jobs/{job.pk}/").content.decode()


def test_a_running_job_shows_a_bar_and_is_looked_at_again_without_script(
    ask, signed_in, tansy, time_machine
):
    time_machine.move_to(NOON, tick=False)
    job = ask(_write_three)
    Work(take_up(at=NOON)).tell(1, 3)
    page = _page(signed_in(tansy), job)
    assert '<progress max="3" value="1"' in page
    assert 'data-refresh-seconds="2"' in page
    assert '<noscript><p class="actions"><a class="button second" href="">Look again</a>' in page
    assert "1 of 3 done." in page


def test_the_time_to_go_is_reckoned_from_the_pace_so_far(ask, signed_in, tansy, time_machine):
    job = ask(_write_three)
    taken = take_up(at=NOON)
    beat(job=taken, at=LATER, done=30, total=90)
    time_machine.move_to(LATER, tick=False)
    # Half of the 61 seconds per 30 that the first thirty took, twice over.
    assert "about 2 minutes to go" in _page(signed_in(tansy), job)


def test_whoever_looks_at_work_that_nobody_does_calls_a_worker(
    ask, signed_in, tansy, workers_called
):
    job = ask(_write_three)
    _page(signed_in(tansy), job)
    assert len(workers_called) == 1
    Job.objects.update(state="stopped", ended_at=NOON)
    _page(signed_in(tansy), job)
    assert len(workers_called) == 1


def test_the_finished_file_is_for_whoever_asked(ask, signed_in, tansy, cosmo):
    job = ask(_write_three, arguments={"whom": "Tansy"})
    run_waiting_jobs()
    answer = signed_in(tansy).get(f"/jobs/{job.pk}/file/")
    assert b"".join(answer.streaming_content) == b"three for Tansy"
    assert "three.txt" in answer.headers["Content-Disposition"]
    assert answer.headers["Cache-Control"] == "private, no-store"
    for path in ("", "file/"):
        assert signed_in(cosmo).get(f"/jobs/{job.pk}/{path}").status_code == 404
    assert signed_in(cosmo).post(f"/jobs/{job.pk}/stop/").status_code == 404


def test_a_file_is_withheld_when_the_role_is_gone(ask, signed_in, tansy):
    may = [True, True, False]
    job = ask(_write_three, may=lambda user: may.pop(0), arguments={"whom": "Tansy"})
    run_waiting_jobs()
    assert signed_in(tansy).get(f"/jobs/{job.pk}/file/").status_code == 403


def test_a_file_no_longer_kept_is_said_to_be_gone(ask, signed_in, tansy):
    job = ask(_write_three, arguments={"whom": "Tansy"})
    run_waiting_jobs()
    remove_old_files(at=NOON.replace(year=2100))
    assert "no longer kept" in _page(signed_in(tansy), job)
    assert signed_in(tansy).get(f"/jobs/{job.pk}/file/").status_code == 404


def test_a_job_is_stopped_on_its_page_and_listed(ask, signed_in, tansy):
    job = ask(_write_three)
    client = signed_in(tansy)
    assert "Stopped." in client.post(f"/jobs/{job.pk}/stop/", follow=True).content.decode()
    page = client.get("/jobs/").content.decode()
    assert "Forty slips" in page
    assert "stopped" in page


def test_the_list_asks_the_same_however_many_jobs_there_are(
    ask, signed_in, tansy, django_assert_num_queries
):
    ask(_write_three)
    client = signed_in(tansy)
    client.get("/jobs/")
    with django_assert_num_queries(7):
        client.get("/jobs/")
    for number in range(20):
        Job.objects.create(kind="test", title=str(number), asked_by=tansy, asked_at=NOON)
    with django_assert_num_queries(7):
        client.get("/jobs/")
