"""Photographs as they may be kept: turned upright, made small, and free of all but the picture.

A phone writes where and when a photograph was taken into the file. Only the dots are carried over,
onto a fresh picture, so that nothing else can come along.
"""

import io
import struct
from dataclasses import dataclass

from PIL import Image, ImageFile, ImageOps, UnidentifiedImageError

from crosses.calc.errors import BadInput

FORMATS = ("JPEG", "PNG", "WEBP")
# What a broken file, or one made to do harm, makes the readers of pictures say.
BROKEN = (OSError, SyntaxError, ValueError, TypeError, LookupError, ArithmeticError, struct.error)
MOST_BYTES = 20_000_000
# Phones save up to 50 million dots; what unpacks to more is no photograph of a capsule.
MOST_DOTS = 52_000_000
# Other formats than JPEG are unpacked whole, at three or four bytes a dot.
MOST_DOTS_UNPACKED = 25_000_000
LONGEST_SIDE = 1600
QUALITY = 82


@dataclass(frozen=True, slots=True)
class Photo:
    """A JPEG file with nothing in it but the picture, and its measures in dots."""

    jpeg: bytes
    width: int
    height: int


def clean_photo(raw: bytes) -> Photo:
    """Make a photograph from a camera, or from anybody, fit to be kept.

    Raises
    ------
    BadInput
        If the file is too large, is no picture that can be read, or would unpack to more than a
        camera makes.
    """
    if len(raw) > MOST_BYTES:
        raise BadInput(
            f"This file is larger than {MOST_BYTES // 1_000_000} MB. Send a smaller picture.",
            field="photo",
        )
    try:
        picture = Image.open(io.BytesIO(raw), formats=FORMATS)
    except (Image.DecompressionBombError, Image.DecompressionBombWarning):
        raise _too_many_dots() from None
    except UnidentifiedImageError:
        raise BadInput(
            "This file is no picture that can be read here. Send a JPEG, PNG or WebP; a phone that"
            " saves HEIC can be set to save JPEG.",
            field="photo",
        ) from None
    except BROKEN:
        raise _broken() from None
    # MPO is what some phones write under the name of JPEG.
    is_jpeg = picture.format in {"JPEG", "MPO"}
    if picture.width * picture.height > (MOST_DOTS if is_jpeg else MOST_DOTS_UNPACKED):
        raise _too_many_dots()
    try:
        fresh = _upright_dots(picture)
    except BROKEN:
        raise _broken() from None
    written = io.BytesIO()
    fresh.save(written, "JPEG", quality=QUALITY, optimize=True)
    return Photo(written.getvalue(), fresh.width, fresh.height)


def _upright_dots(picture: Image.Image) -> Image.Image:
    """Carry the dots over to a fresh picture, made small, white where it was see-through."""
    # The PDF maker, once it is loaded, tells the whole process to fill in what is cut off.
    ImageFile.LOAD_TRUNCATED_IMAGES = False
    # A JPEG is unpacked at a half, a quarter or an eighth, whichever is still large enough.
    picture.draft("RGB", (LONGEST_SIDE, LONGEST_SIDE))
    picture.thumbnail((LONGEST_SIDE, LONGEST_SIDE))
    upright = ImageOps.exif_transpose(picture).convert("RGBA")
    fresh = Image.new("RGB", upright.size, "white")
    fresh.paste(upright, mask=upright.getchannel("A"))
    return fresh


def _too_many_dots() -> BadInput:
    return BadInput(
        "This picture would unpack to more than a camera makes. Take it again with the camera.",
        field="photo",
    )


def _broken() -> BadInput:
    return BadInput(
        "This picture is broken or was cut off on its way. Take it again.", field="photo"
    )
