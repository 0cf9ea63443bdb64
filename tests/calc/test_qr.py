from io import BytesIO
from xml.etree import ElementTree as ET

import pytest
import zxingcpp
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image, ImageDraw

from crosses.calc.errors import BadInput
from crosses.formats.qr import qr_svg


def parsed(svg):
    return ET.fromstring(svg)  # noqa: S314 (our own SVG)


def drawn(svg, pixels_per_module=6):
    """Draw the one stroked path of the SVG: M x y, m dx dy and h length, as the code uses them."""
    root = parsed(svg)
    side = int(root.get("viewBox").split()[2]) * pixels_per_module
    image = Image.new("L", (side, side), 255)
    draw = ImageDraw.Draw(image)
    steps = root.find("path").get("d").replace("-", " -")
    for letter in "Mmh":
        steps = steps.replace(letter, f" {letter} ")
    words = iter(steps.split())
    x = y = 0.0
    for word in words:
        if word == "h":
            length = float(next(words))
            corner = (x * pixels_per_module, (y - 0.5) * pixels_per_module)
            far = ((x + length) * pixels_per_module - 1, (y + 0.5) * pixels_per_module - 1)
            draw.rectangle([corner, far], fill=0)
            x += length
        else:
            dx, dy = float(next(words)), float(next(words))
            x, y = (dx, dy) if word == "M" else (x + dx, y + dy)
    return image


def scanned(svg):
    return zxingcpp.read_barcode(drawn(svg), formats=zxingcpp.BarcodeFormat.QRCode)


@pytest.mark.parametrize("mask", [None, *range(8)])
def test_a_scanner_reads_back_what_was_put_in_whatever_the_mask(mask):
    address = "https://seed.example.org/p/S000123-80"
    read = scanned(qr_svg(address, title="Packet S000123-80", mask=mask))
    assert read.text == address


@settings(max_examples=100, deadline=None)
@given(
    st.text("ABCxyz0123456789-/:.é\N{MULTIPLICATION SIGN} ", min_size=1, max_size=90).filter(
        str.strip
    )
)
def test_a_scanner_reads_any_short_text(text):
    assert scanned(qr_svg(text, title="Tag")).text == text


def test_it_has_a_title_a_role_and_no_style():
    svg = qr_svg("S000123-80", title='Packet <S000123-80> & "co"')
    root = parsed(svg)
    assert root.get("role") == "img"
    assert root[0].tag == "title"
    assert root[0].text == 'Packet <S000123-80> & "co"'
    assert "style" not in svg
    assert "class" not in svg


def test_it_keeps_the_quiet_zone_of_four_modules():
    # ISO/IEC 18004: four modules; from memory. Version 1 has 21 modules a side.
    box = parsed(qr_svg("S000123-80", title="Tag")).get("viewBox")
    assert box == "0 0 29 29"
    image = drawn(qr_svg("S000123-80", title="Tag"), pixels_per_module=1)
    assert image.point(lambda grey: 255 - grey).getbbox() == (4, 4, 25, 25)


def test_a_tag_with_mud_on_it_is_still_read():
    image = drawn(qr_svg("https://seed.example.org/p/S000123-80", title="Tag"))
    side = image.width
    ImageDraw.Draw(image).ellipse([side * 0.55, side * 0.55, side * 0.7, side * 0.7], fill=255)
    saved = BytesIO()
    image.save(saved, "png")
    assert zxingcpp.read_barcode(Image.open(saved)).text == "https://seed.example.org/p/S000123-80"


@pytest.mark.parametrize(
    ("text", "title", "mask", "field"),
    [
        ("", "Tag", None, "text"),
        ("x" * 3000, "Tag", None, "text"),
        ("S000123-80", " ", None, "title"),
        ("S000123-80", "Tag", 8, "mask"),
    ],
)
def test_what_cannot_be_a_code_is_refused_at_its_field(text, title, mask, field):
    with pytest.raises(BadInput) as refusal:
        qr_svg(text, title=title, mask=mask)
    assert refusal.value.field == field
