"""Tags: the words to copy, the code that leads back, the sheet in its measures."""

import io
import shutil
import subprocess

import pypdf
import pytest
import zxingcpp
from django.urls import reverse
from PIL import Image

from crosses.base.refusal import Refused
from crosses.formats.labelsheet import SHEETS
from crosses.queries.tags import pages_of, tag_of, tags_of
from tests.factories.crosses import make_pollination


def test_a_tag_has_the_growers_initials_and_both_numbers(tansy):
    pollination = make_pollination(tansy, flowers=3)
    tag = tag_of(pollination)
    assert (tag.initials, tag.number) == ("TO", pollination.number)
    assert tag.own_number == pollination.cross.own_number
    assert tag.formula.startswith("Primula 'Quillfeather Smoke' ×")


def test_the_sheet_begins_at_the_first_free_place(tansy):
    tag = tag_of(make_pollination(tansy))
    sheet = SHEETS["24 of 70 × 37 mm"]
    pages = pages_of([tag] * 3, sheet, start_at=sheet.per_page - 1)
    places = [[(one.position.left_mm, one.position.top_mm) for one in page] for page in pages]
    assert places == [[(70.0, 259.5), (140.0, 259.5)], [(0.0, 0.5)]]


def test_only_ones_own_flowers_get_tags(tansy, cosmo):
    pollination = make_pollination(tansy)
    with pytest.raises(Refused) as no:
        tags_of(cosmo, pollination.number)
    assert no.value.field == "numbers"


A4 = {"sheet": "24 of 70 × 37 mm", "start_at": "5"}
TAPE = {"sheet": "tape", "width_mm": "70", "height_mm": "12"}


@pytest.fixture
def numbers(tansy):
    return [make_pollination(tansy).number for _flower in range(2)]


@pytest.fixture
def ask(tansy, numbers, signed_in):
    """Return a function that asks for the tags of two flowers."""
    client = signed_in(tansy)
    typed = {"numbers": "\n".join(numbers)}
    return lambda **more: client.post(reverse("pollination-tags"), typed | more)


def read(answer) -> pypdf.PdfReader:
    assert answer.headers["Content-Type"] == "application/pdf"
    return pypdf.PdfReader(io.BytesIO(answer.content))


def size_mm(page) -> list[int]:
    return [round(float(side) / 72 * 25.4) for side in page.mediabox[2:]]


def test_the_sheet_is_a_page_of_a4_with_every_tag(ask, numbers):
    pdf = read(ask(**A4))
    assert [size_mm(page) for page in pdf.pages] == [[210, 297]]
    text = pdf.pages[0].extract_text()
    assert all(number in text for number in numbers)


def test_each_tag_of_a_tape_is_a_page_of_the_tapes_measures(ask, numbers):
    pdf = read(ask(**TAPE))
    assert [size_mm(page) for page in pdf.pages] == [[70, 12], [70, 12]]
    assert numbers[1] in pdf.pages[1].extract_text()


@pytest.mark.skipif(shutil.which("pdftoppm") is None, reason="poppler is not installed here")
@pytest.mark.parametrize("measures", [A4, TAPE], ids=["sheet", "tape of 12 mm"])
def test_the_code_of_a_printed_tag_is_read_back(ask, numbers, settings, measures, tmp_path):
    (tmp_path / "tags.pdf").write_bytes(ask(**measures).content)
    subprocess.run(["pdftoppm", "-r", "300", "-png", "tags.pdf", "page"], cwd=tmp_path, check=True)
    codes = {
        found.text
        for page in tmp_path.glob("*.png")
        for found in zxingcpp.read_barcodes(Image.open(page))
    }
    assert codes == {f"{settings.SITE_ADDRESS}/s/{number}" for number in numbers}


def test_measures_of_ones_own_place_the_tags(ask):
    own = {"columns": 2, "rows": 5, "width_mm": 90, "height_mm": 50, "left_mm": 10, "top_mm": 10}
    assert len(read(ask(sheet="own", start_at=10, **own)).pages) == 2


def test_the_picture_shows_used_printed_and_free_places_before_anything_is_printed(ask, numbers):
    page = ask(**A4, look="1").content.decode()
    picture = page[page.index("<svg") : page.index("</svg>")]
    assert picture.count('class="used"') == 4
    assert picture.count('class="label"') == 2
    assert picture.count('class="free"') == 18
    assert all(number in picture for number in numbers)


def test_the_next_sheet_begins_where_the_last_one_ended(ask, tansy, signed_in):
    client = ask(**A4).wsgi_request
    assert client.session["label-sheet"]["start_at"] == 7
    assert client.session["label-sheet"]["sheet"] == A4["sheet"]


def test_a_place_the_sheet_does_not_have_is_told_with_all_that_was_typed(ask, numbers):
    answer = ask(**A4 | {"start_at": "25"})
    assert answer.context["form"].errors == {"start_at": ["This sheet has 24 places."]}
    assert numbers[0] in answer.content.decode()


@pytest.mark.parametrize(
    ("measures", "field"),
    [
        ({"width_mm": "70"}, "height_mm"),
        ({"width_mm": "70", "height_mm": "8"}, "height_mm"),
        ({"width_mm": "20", "height_mm": "12"}, "width_mm"),
        ({"width_mm": "900", "height_mm": "12"}, "width_mm"),
        ({"width_mm": "nan", "height_mm": "12"}, "width_mm"),
    ],
)
def test_measures_no_tape_has_are_told_at_their_field(ask, measures, field):
    assert list(ask(sheet="tape", **measures).context["form"].errors) == [field]


def test_a_mistyped_number_is_told_with_its_line(tansy, signed_in):
    number = make_pollination(tansy).number
    answer = signed_in(tansy).post(
        reverse("pollination-tags"), {"numbers": f"{number}\nF000001-00"} | A4
    )
    assert answer.context["form"].errors["numbers"][0].startswith("F000001-00:")
