"""Photographs are kept without anything but the picture, whoever sends whatever."""

import io

import pytest
from PIL import Image, ImageFile

from crosses.calc.errors import BadInput
from crosses.formats import photo
from crosses.formats.photo import LONGEST_SIDE, clean_photo

ORIENTATION, GPS, MAKER, COMMENT = 0x0112, 0x8825, 0x010F, 0x9286


def picture(size=(400, 300), colour="green", form="JPEG", **extra) -> bytes:
    written = io.BytesIO()
    Image.new("RGB", size, colour).save(written, form, **extra)
    return written.getvalue()


def with_facts(form: str, orientation: int = 1) -> bytes:
    """Return a picture that says where it was taken, by which phone, and more."""
    exif = Image.Exif()
    exif[ORIENTATION] = orientation
    exif[MAKER] = "Invented Phones of Nettlemere"
    exif.get_ifd(GPS).update({1: "N", 2: (51.0, 30.0, 12.0), 3: "W", 4: (0.0, 7.0, 39.0)})
    exif.get_ifd(0x8769)[COMMENT] = b"at home behind the shed"
    extra = {"comment": b"at home behind the shed"} if form == "JPEG" else {}
    return picture(form=form, exif=exif, **extra)


@pytest.mark.parametrize("form", ["JPEG", "PNG", "WEBP"])
def test_where_and_when_and_by_which_phone_are_gone(form):
    raw = with_facts(form)
    assert b"Nettlemere" in raw
    kept = clean_photo(raw).jpeg
    assert b"Nettlemere" not in kept
    assert b"shed" not in kept
    read = Image.open(io.BytesIO(kept))
    assert read.format == "JPEG"
    assert not read.getexif()
    # What is left in the file belongs to the coding of the picture itself (JFIF).
    assert not set(read.info) - {"jfif", "jfif_version", "jfif_unit", "jfif_density"}


def test_a_picture_taken_sideways_stands_upright():
    # Exif orientation 6: the top of the scene is at the right edge (Exif 2.32, 4.6.4 A, tag 274).
    kept = clean_photo(with_facts("JPEG", orientation=6))
    assert (kept.width, kept.height) == (300, 400)


def test_a_large_picture_is_made_small_and_keeps_its_shape():
    kept = clean_photo(picture((4000, 3000)))
    assert (kept.width, kept.height) == (LONGEST_SIDE, LONGEST_SIDE * 3 // 4)


def test_a_small_picture_is_not_made_larger():
    kept = clean_photo(picture((40, 30)))
    assert (kept.width, kept.height) == (40, 30)


def test_what_was_see_through_is_white():
    written = io.BytesIO()
    Image.new("RGBA", (10, 10), (0, 0, 0, 0)).save(written, "PNG")
    read = Image.open(io.BytesIO(clean_photo(written.getvalue()).jpeg))
    assert read.getpixel((5, 5)) == (255, 255, 255)


@pytest.mark.parametrize(
    "raw", [b"", b"not a picture", b"%PDF-1.7 ...", b"<svg xmlns='http://www.w3.org/2000/svg'/>"]
)
def test_what_is_no_picture_is_told_in_words(raw):
    with pytest.raises(BadInput, match="no picture that can be read here") as no:
        clean_photo(raw)
    assert no.value.field == "photo"


def test_a_format_that_is_not_asked_for_is_not_read():
    with pytest.raises(BadInput, match="JPEG, PNG or WebP"):
        clean_photo(picture(form="TIFF"))


def test_a_picture_that_was_cut_off_says_so():
    raw = picture((400, 300))
    with pytest.raises(BadInput, match="cut off"):
        clean_photo(raw[: len(raw) // 2])


def test_it_says_so_even_after_the_pdf_maker_was_loaded(monkeypatch):
    monkeypatch.setattr(ImageFile, "LOAD_TRUNCATED_IMAGES", True)
    raw = picture((400, 300))
    with pytest.raises(BadInput, match="cut off"):
        clean_photo(raw[: len(raw) // 2])


def test_a_file_that_unpacks_to_far_too_much_is_refused_before_it_is_unpacked():
    # 12,000 by 12,000 dots of one colour are some 140 kB as PNG, and 432 MB unpacked.
    written = io.BytesIO()
    Image.new("1", (12_000, 12_000)).save(written, "PNG")
    assert len(written.getvalue()) < 1_000_000
    with pytest.raises(BadInput, match="more than a camera makes"):
        clean_photo(written.getvalue())


def test_a_file_that_is_too_large_is_refused_unread(monkeypatch):
    monkeypatch.setattr(photo, "MOST_BYTES", 1000)
    with pytest.raises(BadInput, match="larger than"):
        clean_photo(b"x" * 1001)


@pytest.mark.parametrize("form", ["JPEG", "PNG", "WEBP"])
@pytest.mark.parametrize("step", [7, 31, 101])
def test_a_damaged_file_is_a_picture_or_a_clear_no(form, step):
    raw = bytearray(with_facts(form))
    for place in range(20, len(raw), step):
        raw[place] ^= 0x5A
    try:
        width = clean_photo(bytes(raw)).width
    except BadInput:
        return
    assert width > 0
