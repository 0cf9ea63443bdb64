"""Tags: the words to copy, the code that leads back, the sheet in its measures."""

import io

import pypdf
import pytest
from django.urls import reverse

from crosses.base.refusal import Refused
from crosses.queries.tags import TAGS_ON_A_SHEET, sheets_of, tag_of, tags_of
from tests.factories.crosses import make_pollination


def test_a_tag_has_the_growers_initials_and_both_numbers(tansy):
    pollination = make_pollination(tansy, flowers=3)
    tag = tag_of(pollination)
    assert (tag.initials, tag.number) == ("TO", pollination.number)
    assert tag.own_number == pollination.cross.own_number
    assert tag.formula.startswith("Primula 'Quillfeather Smoke' ×")


def test_the_sheet_begins_at_the_first_free_place(tansy):
    tag = tag_of(make_pollination(tansy))
    sheets = sheets_of([tag] * 3, start_at=TAGS_ON_A_SHEET - 1)
    assert [[(one.row, one.column) for one in sheet] for sheet in sheets] == [
        [(8, 2), (8, 3)],
        [(1, 1)],
    ]


def test_only_ones_own_flowers_get_tags(tansy, cosmo):
    pollination = make_pollination(tansy)
    with pytest.raises(Refused) as no:
        tags_of(cosmo, pollination.number)
    assert no.value.field == "numbers"


def test_the_sheet_is_a_page_of_a4_with_every_tag(tansy, signed_in):
    numbers = [make_pollination(tansy).number for _flower in range(2)]
    answer = signed_in(tansy).post(
        reverse("pollination-tags"), {"numbers": "\n".join(numbers), "start_at": "5"}
    )
    pdf = pypdf.PdfReader(io.BytesIO(answer.content))
    assert len(pdf.pages) == 1
    assert [round(float(side)) for side in pdf.pages[0].mediabox[2:]] == [595, 842]
    text = pdf.pages[0].extract_text()
    assert all(number in text for number in numbers)


def test_a_mistyped_number_is_told_with_its_line(tansy, signed_in):
    number = make_pollination(tansy).number
    answer = signed_in(tansy).post(
        reverse("pollination-tags"), {"numbers": f"{number}\nF000001-00", "start_at": "1"}
    )
    assert answer.context["form"].errors["numbers"][0].startswith("F000001-00:")
