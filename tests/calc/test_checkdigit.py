from itertools import combinations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from stdnum.iso7064 import mod_97_10

from crosses.calc.checkdigit import KINDS, check_digits, read_number, write_number
from crosses.calc.errors import BadInput

SERIALS = st.integers(1, 999_999_999)
SAMPLES = [write_number("packet", serial) for serial in (1, 7, 123, 90_909, 123_456, 987_654_321)]


@pytest.mark.parametrize(
    ("text", "check"),
    [
        ("794", "44"),  # the example in ISO/IEC 7064 itself; from memory
        ("WEST12345698765432GB", "82"),  # the IBAN example GB82 WEST 1234 5698 7654 32; from memory
        ("F50EOCWSQFAUVO9Q8Z", "97"),  # legal entity identifier (ISO 17442); from memory
    ],
)
def test_published_numbers_have_their_published_check_digits(text, check):
    assert check_digits(text) == check


@given(st.text("0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ", min_size=1, max_size=30))
def test_check_digits_are_those_of_an_independent_library(text):
    assert check_digits(text) == mod_97_10.calc_check_digits(text)


@given(st.sampled_from(sorted(KINDS)), SERIALS)
def test_a_written_number_is_valid_for_an_independent_library_and_reads_back(kind, serial):
    number = write_number(kind, serial)
    assert mod_97_10.is_valid(number.replace("-", ""))
    assert read_number(number, kind=kind) == number
    assert int(number[1:-3]) == serial


def test_no_two_kinds_share_a_letter():
    assert len(set(KINDS.values())) == len(KINDS)


@pytest.mark.parametrize(
    "typed",
    [
        "S000123-80",
        "s000123-80",
        " S 000 123 - 80 ",
        "S00012380",
        "00012380",
        "S000123\N{EN DASH}80",
        "\N{FULLWIDTH LATIN CAPITAL LETTER S}000123-\N{FULLWIDTH DIGIT EIGHT}\N{FULLWIDTH DIGIT ZERO}",
    ],
)
def test_a_number_is_understood_however_it_is_copied(typed):
    assert read_number(typed, kind="packet") == "S000123-80"


@pytest.mark.parametrize("number", SAMPLES)
def test_every_single_wrong_digit_is_found(number):
    for place, right in enumerate(number):
        for wrong in "0123456789":
            if not right.isdigit() or wrong == right:
                continue
            with pytest.raises(BadInput):
                read_number(number[:place] + wrong + number[place + 1 :], kind="packet")


@pytest.mark.parametrize("number", SAMPLES)
def test_every_swap_of_two_digits_near_or_far_is_found(number):
    places = [place for place, character in enumerate(number) if character.isdigit()]
    for one, other in combinations(places, 2):
        if number[one] == number[other]:
            continue
        swapped = list(number)
        swapped[one], swapped[other] = number[other], number[one]
        with pytest.raises(BadInput):
            read_number("".join(swapped), kind="packet")


@given(SERIALS, st.permutations(sorted(KINDS)))
def test_a_number_of_another_kind_is_refused_even_without_its_letter(serial, kinds):
    has, wanted = kinds[:2]
    number = write_number(has, serial)
    with pytest.raises(BadInput, match=f"That is the number of a {has}, not of a {wanted}"):
        read_number(number, kind=wanted)
    with pytest.raises(BadInput, match="mistyped"):
        read_number(number[1:], kind=wanted)


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ("", "Type the number of the packet"),
        (" - ", "Type the number of the packet"),
        ("S00123-80", "Digits typed: 7. The number of a packet looks like S000123-80"),
        ("S0000123-80", "Digits typed: 9"),
        ("S", "Digits typed: 0"),
        ("S" + "1" * 12, "Digits typed: 12"),
        ("S00O123-80", "digits only"),
        ("SS000123-80", "digits only"),
        ("X000123-80", "digits only"),
        ("S000123-81", "one digit is mistyped or two are swapped"),
        ("S000132-80", "one digit is mistyped or two are swapped"),
        ("S٠٠٠١٢٣-٨٠", "digits only"),  # noqa: RUF001
    ],
)
def test_what_is_wrong_is_said_in_its_own_sentence(typed, sentence):
    with pytest.raises(BadInput, match=sentence) as refusal:
        read_number(typed, kind="packet")
    assert refusal.value.field == "text"


@pytest.mark.parametrize("serial", [0, -1, 1_000_000_000])
def test_a_serial_out_of_range_is_not_written(serial):
    with pytest.raises(BadInput, match="A serial runs from 1"):
        write_number("plant", serial)


def test_a_kind_without_numbers_is_refused():
    with pytest.raises(BadInput, match="Nothing called 'pot'"):
        write_number("pot", 1)
    with pytest.raises(BadInput, match="Nothing called 'pot'"):
        read_number("S000123-80", kind="pot")


@pytest.mark.parametrize("text", ["", "12-3", "é"])
def test_check_digits_of_anything_else_are_refused(text):
    with pytest.raises(BadInput):
        check_digits(text)
