"""A photo of a look: seen by whoever may see the flower, and by nobody else."""

import io
from pathlib import Path

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse
from PIL import Image

from crosses.actions.capsule import record_check
from crosses.actions.photo import MOST_PHOTOS_A_CHECK
from crosses.models import Check, CheckPhoto
from tests.conftest import NOON
from tests.factories.crosses import make_cross, make_pollination

SEEN = {"kind": "swelling", "seen_on": "2026-05-20"}


@pytest.fixture(autouse=True)
def folder(settings, tmp_path, time_machine) -> Path:
    settings.MEDIA_ROOT = tmp_path
    time_machine.move_to(NOON)
    return tmp_path


@pytest.fixture
def pollination(tansy):
    return make_pollination(tansy)


@pytest.fixture
def check(tansy, pollination):
    return record_check(
        pollination=pollination, by=tansy, at=NOON, seen_on=NOON.date(), kind="swelling"
    )


def photo(name="capsule.jpg"):
    written = io.BytesIO()
    Image.new("RGB", (60, 40), "green").save(written, "JPEG")
    return SimpleUploadedFile(name, written.getvalue(), "image/jpeg")


def add(client, check, **typed):
    address = reverse("photo-add", args=[check.pollination.number, check.pk])
    return client.post(address, {"photo": photo()} | typed)


def address_of(kept: CheckPhoto) -> str:
    return reverse("photo-file", args=[kept.look.pollination.number, kept.pk])


def status_of(client, kept: CheckPhoto) -> int:
    answer = client.get(address_of(kept))
    answer.close()
    return answer.status_code


def test_a_look_is_written_with_its_photo_in_one_go(tansy, pollination, signed_in, folder):
    client = signed_in(tansy)
    client.post(reverse("check-add", args=[pollination.number]), SEEN | {"photo": photo()})
    kept = CheckPhoto.objects.get()
    assert kept.look == Check.objects.get()
    # The name the phone gave is not kept: it may tell the day, or a person.
    assert "capsule" not in kept.file.name
    answer = client.get(address_of(kept))
    assert answer.headers["Content-Type"] == "image/jpeg"
    assert answer.headers["X-Content-Type-Options"] == "nosniff"
    assert "private" in answer.headers["Cache-Control"]
    assert Image.open(io.BytesIO(b"".join(answer.streaming_content))).size == (60, 40)
    page = client.get(reverse("pollination-detail", args=[pollination.number])).content.decode()
    assert address_of(kept) in page


def test_what_is_no_picture_is_told_at_its_field_and_nothing_is_written(
    tansy, pollination, signed_in
):
    answer = signed_in(tansy).post(
        reverse("check-add", args=[pollination.number]),
        SEEN | {"photo": SimpleUploadedFile("capsule.jpg", b"words"), "note": "north bench"},
    )
    assert "no picture" in answer.context["form"].errors["photo"][0]
    assert "north bench" in answer.content.decode()
    assert not Check.objects.exists()


def test_a_photo_is_added_to_a_look_later(tansy, check, signed_in):
    answer = add(signed_in(tansy), check, next="/flowers/")
    assert answer.headers["Location"] == "/flowers/"
    assert check.photos.count() == 1


def test_a_double_tap_keeps_one_photo(tansy, check, signed_in):
    client = signed_in(tansy)
    for _tap in range(2):
        add(client, check, client_key="00000000-0000-0000-0000-000000000007")
    assert check.photos.count() == 1


def test_only_the_grower_adds_and_takes_away(tansy, cosmo, check, signed_in):
    assert add(signed_in(cosmo), check).status_code == 403
    add(signed_in(tansy), check)
    kept = CheckPhoto.objects.get()
    away = reverse("photo-withdraw", args=[check.pollination.number, kept.pk])
    assert signed_in(cosmo).post(away).status_code == 403
    assert status_of(signed_in(cosmo), kept) == 200


def test_a_photo_of_a_hidden_cross_is_not_there_for_another(tansy, cosmo, signed_in):
    hidden = make_pollination(tansy, make_cross(tansy, visibility="me"))
    check = record_check(
        pollination=hidden, by=tansy, at=NOON, seen_on=NOON.date(), kind="swelling"
    )
    add(signed_in(tansy), check)
    kept = CheckPhoto.objects.get()
    assert status_of(signed_in(cosmo), kept) == 404
    assert status_of(Client(), kept) == 302


def test_a_photo_is_not_found_under_another_flowers_number(tansy, check, signed_in):
    add(signed_in(tansy), check)
    other = make_pollination(tansy)
    address = reverse("photo-file", args=[other.number, CheckPhoto.objects.get().pk])
    assert signed_in(tansy).get(address).status_code == 404


@pytest.mark.django_db(transaction=True)
def test_a_photo_taken_away_leaves_no_file_but_a_line_with_the_reason(
    tansy, check, signed_in, folder
):
    client = signed_in(tansy)
    add(client, check)
    kept = CheckPhoto.objects.get()
    client.post(reverse("photo-withdraw", args=[check.pollination.number, kept.pk]))
    kept.refresh_from_db()
    assert kept.withdrawn_reason
    assert not [path for path in folder.rglob("*") if path.is_file()]
    assert status_of(client, kept) == 404


def test_a_look_that_is_taken_back_takes_its_photo_out_of_sight(tansy, check, signed_in):
    client = signed_in(tansy)
    add(client, check)
    client.post(reverse("check-undo", args=[check.pollination.number, check.pk]))
    assert status_of(client, CheckPhoto.objects.get()) == 404


def test_a_look_has_a_few_photos_and_no_more(tansy, check, signed_in):
    client = signed_in(tansy)
    for _photo in range(MOST_PHOTOS_A_CHECK):
        add(client, check)
    assert "take one away first" in add(client, check).context["form"].errors["photo"][0]


def test_a_file_that_was_lost_is_not_found_instead_of_a_fault(tansy, check, signed_in, folder):
    client = signed_in(tansy)
    add(client, check)
    for path in folder.rglob("*.jpg"):
        path.unlink()
    assert status_of(client, CheckPhoto.objects.get()) == 404


def test_a_way_back_off_the_site_is_not_followed(tansy, check, signed_in):
    answer = add(signed_in(tansy), check, next="https://elsewhere.example/")
    assert answer.headers["Location"] == reverse(
        "pollination-detail", args=[check.pollination.number]
    )
