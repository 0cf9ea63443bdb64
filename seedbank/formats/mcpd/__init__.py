"""FAO/Bioversity Multi-crop Passport Descriptors V2.1 (December 2015): reading and writing.

Source: Alercia, A., Diulgheroff, S., Mackay, M. (2015), FAO/Bioversity Multi-Crop Passport
Descriptors V.2.1, FAO and Bioversity International, Rome. The standard fixes what stands in a
field, not how the file is packed; files are tables with the field names as headings.
"""

from seedbank.formats.mcpd.descriptors import (
    BY_NAME,
    COLLECTING_SOURCE,
    DESCRIPTORS,
    MLS_STATUS,
    SAMPLE_STATUS,
    STORAGE,
    Descriptor,
)
from seedbank.formats.mcpd.records import (
    HEADER,
    CellProblem,
    Passport,
    read_passport,
    write_passports,
)
from seedbank.formats.mcpd.values import PartialDate, read_degrees, read_partial_date

__all__ = [
    "BY_NAME",
    "COLLECTING_SOURCE",
    "DESCRIPTORS",
    "HEADER",
    "MLS_STATUS",
    "SAMPLE_STATUS",
    "STORAGE",
    "CellProblem",
    "Descriptor",
    "PartialDate",
    "Passport",
    "read_degrees",
    "read_partial_date",
    "read_passport",
    "write_passports",
]
