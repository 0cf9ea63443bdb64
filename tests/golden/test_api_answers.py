"""Answers of the API that scripts rely on: they may only change on purpose.

`make golden` writes them anew; read the difference before you commit it.
"""

import json
import os
from pathlib import Path

import pytest

from tests.api.conftest import lemon_lot, lemon_sowing, with_key  # noqa: F401  fixtures

FOLDER = Path(__file__).parent / "api"
pytestmark = pytest.mark.django_db


@pytest.mark.parametrize("name", ["germination_row", "packet_chain"])
def test_an_answer_is_word_for_word_what_it_was(name, wilhelmina, with_key, lemon_sowing):  # noqa: F811
    address = {
        "germination_row": f"/api/v1/germination/{lemon_sowing.number}/",
        "packet_chain": f"/api/v1/packets/{lemon_sowing.packet.number}/",
    }[name]
    told = json.dumps(with_key(wilhelmina).get(address).json(), indent=1, ensure_ascii=False)
    kept = FOLDER / f"{name}.json"
    if os.environ.get("GOLDEN") == "write":
        kept.parent.mkdir(exist_ok=True)
        kept.write_text(told + "\n")
    assert told + "\n" == kept.read_text()
