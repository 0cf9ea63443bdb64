"""Anybody checks a sharing-out from its published files, with one file and nothing else."""

import json
import subprocess
import sys

import pytest

from seedbank.exchange.actions.allocation import top_up
from seedbank.exchange.models import AllocationRun, Round
from seedbank.exchange.verifier import verifier
from tests.factories.bank import packets_of
from tests.factories.exchange import A_DAY, AFTER, announced, line

pytestmark = pytest.mark.django_db


@pytest.fixture
def shared(found, three, ignatius):
    """An announced round with a top-up, so that it has two runs."""
    done = announced(found, ignatius)
    packets_of(line(found, 3).lot, 2)
    top_up(round=done, why="two more of line 3", by=ignatius, at=AFTER + A_DAY)
    return Round.objects.get(pk=found.pk)


@pytest.fixture
def verify(client, shared, tmp_path):
    """Download the files of a run as an outsider, alter them, and run the verifier on them."""

    def run_it(position, alter=lambda inputs, result: None, **changed):
        program = tmp_path / "verify_sharing.pyz"
        program.write_bytes(client.get("/verify_sharing.pyz").content)
        paths = []
        documents = [
            client.get(f"/rounds/{shared.slug}/result/{part}.json?run={position}").content
            for part in ("inputs", "result")
        ]
        loaded = [json.loads(each) for each in documents]
        before = json.dumps(loaded)
        alter(*loaded)
        for name, original, document in zip("ab", documents, loaded, strict=True):
            text = json.dumps(document, sort_keys=True, separators=(",", ":"), ensure_ascii=False)
            is_same = json.dumps(loaded) == before
            path = tmp_path / f"{name}.json"
            path.write_bytes(original if is_same else f"{text}\n".encode())
            paths.append(str(path))
        told = {
            "secret": shared.draw_secret,
            "public-value": shared.public_value,
            "commitment": shared.draw_commitment,
            **({"frozen-digest": shared.frozen_digest} if position == 1 else {}),
        } | changed
        options = [word for name, value in told.items() for word in (f"--{name}", value)]
        # Isolated and elsewhere: neither this project nor its libraries are in reach.
        return subprocess.run(
            [sys.executable, "-I", "-S", str(program), *paths, *options],
            cwd=tmp_path,
            capture_output=True,
            text=True,
            check=False,
        )

    return run_it


@pytest.mark.parametrize("position", [1, 2])
def test_every_run_is_right_for_an_outsider_with_the_files_alone(verify, position):
    done = verify(position)
    assert done.stderr == ""
    assert done.returncode == 0, done.stdout
    assert "WRONG" not in done.stdout
    assert ("published before the draw" in done.stdout) is (position == 1)


def _give_another(_inputs, result):
    result["packets"][0]["member"] = result["packets"][-1]["member"]


def _more_stock(inputs, _result):
    inputs["lines"][0]["stock"] += 1


def _first_in_line(inputs, _result):
    inputs["draw"]["order"].reverse()


@pytest.mark.parametrize("alter", [_give_another, _more_stock, _first_in_line])
def test_an_altered_file_is_found_out(verify, alter):
    done = verify(1, alter)
    assert done.returncode == 1, done.stdout + done.stderr
    assert "WRONG" in done.stdout


def test_another_secret_is_found_out(verify):
    done = verify(1, secret="00" * 32)
    assert done.returncode == 1
    assert "WRONG: the secret is the one committed to" in done.stdout


def test_the_verifier_is_the_same_bytes_every_time():
    assert verifier() == verifier()


def test_each_run_has_its_own_files_and_the_last_is_given_without_a_number(client, shared):
    address = f"/rounds/{shared.slug}/result/inputs.json"
    for run in AllocationRun.objects.all():
        assert client.get(f"{address}?run={run.position}").content.decode() == run.inputs
    assert client.get(address).content.decode() == AllocationRun.objects.last().inputs
    for wrong in ("3", "x", "-1", "9" * 40):
        assert client.get(f"{address}?run={wrong}").status_code == 404


def test_no_member_number_stands_in_what_is_published(client, shared, three):
    page = client.get(f"/rounds/{shared.slug}/check/").content.decode()
    texts = [page, *(run.inputs + run.result for run in AllocationRun.objects.all())]
    for member in three:
        for text in texts:
            assert f'"{member.number}"' not in text
            assert member.name not in text


def test_each_member_finds_their_own_and_nobody_elses(shared, three, signed_in):
    own, other, _third = three
    page = signed_in(own).get(f"/rounds/{shared.slug}/result/mine/").content.decode()
    assert shared.name_published(own.number) in page
    assert shared.name_published(other.number) not in page


def test_before_the_announcement_the_files_are_the_keepers(
    client, shared, three, ignatius, signed_in
):
    Round.objects.filter(pk=shared.pk).update(announced_at=None)
    address = f"/rounds/{shared.slug}/result/inputs.json"
    assert client.get(address).status_code == 404
    assert signed_in(three[0]).get(address).status_code == 403
    assert signed_in(ignatius).get(address).status_code == 200


def test_a_round_drawn_by_numbers_shows_its_files_to_the_keeper_alone(
    client, shared, three, ignatius, signed_in
):
    """As rounds were before there were pseudonyms."""
    Round.objects.filter(pk=shared.pk).update(pseudonym_key="")
    address = f"/rounds/{shared.slug}/result/inputs.json"
    assert client.get(address).status_code == 404
    assert signed_in(three[0]).get(address).status_code == 403
    assert "the seed keeper alone" in signed_in(three[0]).get(f"/rounds/{shared.slug}/result/").text
    assert signed_in(ignatius).get(address).status_code == 200
