"""Background work: asked for, taken up once, gone on with where it was, told in words."""

import datetime
import uuid

import pytest
from django.core.exceptions import PermissionDenied
from django.core.files.base import ContentFile
from django.db import transaction

from crosses.base.refusal import Refused
from seedbank.jobs.actions import (
    FILES_KEPT,
    MOST_TIMES_TAKEN_UP,
    put_back,
    queue_job,
    remove_old_files,
    stop_job,
    take_up,
    worker_beat,
    worker_leaves,
)
from seedbank.jobs.files import folder_of
from seedbank.jobs.holding import holding, is_let_go, job_hold, worker_hold
from seedbank.jobs.models import Job, Worker
from seedbank.jobs.queries import GONE_AFTER
from seedbank.jobs.running import run_job, run_waiting_jobs
from seedbank.jobs.starting import call_worker
from seedbank.jobs.work import NoLongerOurs, Work
from tests.conftest import NOON

pytestmark = pytest.mark.django_db

LATER = NOON + GONE_AFTER + datetime.timedelta(seconds=1)


def _write_three(work: Work) -> str:
    path = work.result("three.txt")
    for step in range(3):
        work.tell(step, 3)
    path.write_text(f"three for {work.arguments['whom']}")
    return "Three are written."


def test_a_job_is_done_and_its_file_and_words_are_kept(ask):
    job = ask(_write_three, arguments={"whom": "Tansy"})
    assert run_waiting_jobs() == 1
    job.refresh_from_db()
    assert (job.state, job.message) == ("finished", "Three are written.")
    assert (job.done, job.total, job.result_name) == (3, 3, "three.txt")
    assert (folder_of(job) / "three.txt").read_text() == "three for Tansy"


def test_a_file_that_came_with_the_job_is_there_to_read(ask):
    read = []
    ask(lambda work: read.append(work.upload.read_bytes()) or "", upload=ContentFile(b"a,b"))
    run_waiting_jobs()
    assert read == [b"a,b"]


def test_two_taps_ask_for_one_job(ask, tansy):
    key = uuid.uuid4()
    first = ask(_write_three, client_key=key)
    again = queue_job(kind="test", title="Forty slips", by=tansy, at=NOON, client_key=key)
    assert (again, Job.objects.count()) == (first, 1)


def test_who_may_not_ask_is_refused_and_nothing_waits(ask):
    with pytest.raises(PermissionDenied):
        ask(_write_three, may=lambda user: False)
    assert not Job.objects.exists()


def test_a_role_lost_before_the_work_begins_stops_it_in_words(ask, kinds):
    may = [True, False]
    job = ask(_write_three, may=lambda user: may.pop(0))
    run_waiting_jobs()
    job.refresh_from_db()
    assert job.state == "failed"
    assert "a role you had" in job.message


def test_a_rule_that_refuses_is_what_the_person_reads(ask):
    def refuse(work: Work) -> str:
        raise Refused("no-parcels", "There is no open parcel.")

    job = ask(refuse)
    run_waiting_jobs()
    job.refresh_from_db()
    assert (job.state, job.message) == ("failed", "There is no open parcel.")


def test_a_fault_of_ours_is_told_without_its_insides_and_the_next_job_is_done(ask, tansy, caplog):
    faults = [ZeroDivisionError("1/0 at nowhere row")]

    def fail_once(work: Work) -> str:
        if faults:
            raise faults.pop()
        return "Done."

    job = ask(fail_once)
    other = queue_job(kind="test", title="The next", by=tansy, at=NOON)
    assert run_waiting_jobs() == 2
    job.refresh_from_db()
    other.refresh_from_db()
    assert "nowhere row" not in job.message
    assert "Ask the administrator" in job.message
    assert "ZeroDivisionError" in caplog.text
    assert other.state == "finished"


def test_a_job_with_a_heartbeat_is_left_to_its_worker(ask):
    ask(_write_three)
    assert take_up(at=NOON) is not None
    assert take_up(at=NOON + datetime.timedelta(seconds=50)) is None


def test_a_job_without_a_heartbeat_for_a_minute_is_gone_on_with_where_it_was(ask):
    kept = []

    def chunks(work: Work) -> str:
        for step in range(work.position, 4):
            kept.append(step)
            work.keep(step + 1)
        return ""

    job = ask(chunks)
    dead = Work(take_up(at=NOON))
    dead.keep(2)
    Job.objects.filter(pk=job.pk).update(heartbeat_at=NOON)
    run_job(take_up(at=LATER))
    job.refresh_from_db()
    assert kept == [2, 3]
    assert (job.state, job.times_taken_up) == ("finished", 1)


def test_a_worker_thought_dead_can_write_no_more(ask):
    ask(_write_three)
    slow = Work(take_up(at=NOON))
    taken = take_up(at=LATER)
    with pytest.raises(NoLongerOurs), transaction.atomic():
        slow.keep(1)
    assert Job.objects.get().claim == taken.claim
    assert Job.objects.get().position == 0


def test_work_that_takes_its_worker_down_each_time_is_given_up_in_words(ask):
    job = ask(_write_three)
    moment = NOON
    for _ in range(MOST_TIMES_TAKEN_UP):
        assert take_up(at=moment) == job
        moment += 2 * GONE_AFTER
    assert take_up(at=moment) is None
    job.refresh_from_db()
    assert job.state == "failed"
    assert f"broke off {MOST_TIMES_TAKEN_UP} times at the same place" in job.message


def test_each_piece_that_is_kept_begins_the_count_of_breaks_anew(ask):
    job = ask(_write_three)
    moment = NOON
    for piece in range(3 * MOST_TIMES_TAKEN_UP):
        Work(take_up(at=moment)).keep(piece + 1)
        moment = Job.objects.get().heartbeat_at + 2 * GONE_AFTER
    job.refresh_from_db()
    assert (job.state, job.position) == ("running", 3 * MOST_TIMES_TAKEN_UP)


def test_the_lock_of_a_process_that_lives_is_held_and_of_a_dead_one_let_go(tmp_path):
    path = tmp_path / "worker.held"
    assert not is_let_go(path)
    with holding(path):
        assert path.exists()
        assert not is_let_go(path)
    assert not path.exists()
    path.touch()
    assert is_let_go(path)


def test_a_job_whose_worker_was_killed_is_taken_up_at_once_and_a_live_one_left(ask):
    ask(_write_three)
    job = take_up(at=NOON)
    with holding(job_hold(job.claim)):
        assert take_up(at=NOON) is None
    job_hold(job.claim).touch()
    assert take_up(at=NOON) == job


def test_a_worker_is_called_at_once_where_the_one_before_was_killed(workers_called):
    name = uuid.uuid4()
    worker_beat(name=name, at=NOON)
    worker_hold(name).parent.mkdir(parents=True)
    worker_hold(name).touch()
    call_worker(at=NOON)
    assert workers_called == [NOON]


def test_a_worker_told_to_end_lays_its_job_back_uncounted(ask):
    job = ask(_write_three)
    put_back(job=take_up(at=NOON))
    job.refresh_from_db()
    assert (job.state, job.times_taken_up) == ("waiting", 0)


def test_a_worker_that_is_ended_in_the_midst_of_a_job_lays_it_back(ask):
    def ended(work: Work) -> str:
        raise SystemExit(0)

    job = ask(ended)
    with pytest.raises(SystemExit):
        run_waiting_jobs()
    job.refresh_from_db()
    assert job.state == "waiting"


def test_a_stopped_job_is_let_go_by_its_worker(ask, tansy):
    def stopped_halfway(work: Work) -> str:
        stop_job(job=Job.objects.get(), by=tansy, at=NOON)
        work.tell(1, 3)
        work.tell(2, 3)
        raise AssertionError("went on after it was stopped")

    job = ask(stopped_halfway)
    run_waiting_jobs()
    job.refresh_from_db()
    assert (job.state, job.message) == ("stopped", "Stopped by Tansy Oddwater.")
    with pytest.raises(Refused, match="ended already"):
        stop_job(job=job, by=tansy, at=NOON)


def test_files_are_taken_off_the_disk_after_a_week(ask):
    job = ask(_write_three, arguments={"whom": "Tansy"})
    run_waiting_jobs()
    ended = Job.objects.get().ended_at
    remove_old_files(at=ended + FILES_KEPT)
    assert folder_of(job).exists()
    remove_old_files(at=ended + FILES_KEPT + datetime.timedelta(seconds=1))
    assert not folder_of(job).exists()


def test_a_worker_is_called_when_work_is_asked_for(
    ask, workers_called, django_capture_on_commit_callbacks
):
    with django_capture_on_commit_callbacks(execute=True):
        ask(_write_three)
    assert workers_called == [NOON]


def test_no_worker_is_called_while_one_shows_a_heartbeat(workers_called):
    name = uuid.uuid4()
    worker_beat(name=name, at=NOON)
    call_worker(at=NOON + datetime.timedelta(seconds=59))
    assert workers_called == []
    call_worker(at=LATER)
    assert workers_called == [LATER]


def test_a_worker_that_leaves_is_struck_off_with_those_that_died():
    here, dead = uuid.uuid4(), uuid.uuid4()
    worker_beat(name=dead, at=NOON)
    worker_beat(name=here, at=LATER)
    worker_leaves(name=here, at=LATER)
    assert not Worker.objects.exists()
