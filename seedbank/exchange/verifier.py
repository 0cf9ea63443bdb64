"""The verifier as one file: the very modules that share out, in an archive that Python runs as it is."""

import io
import zipfile
from pathlib import Path

FILENAME = "verify_sharing.pyz"
_ROOT = Path(__file__).parents[2]
_PACKAGES = ("seedbank", "seedbank/calc", "crosses", "crosses/calc")
_MODULES = ("crosses/calc/errors.py", "seedbank/calc/lottery.py")
_START = """import sys

from seedbank.calc.allocation.verify import main

sys.exit(main(sys.argv[1:]))
"""
# The same bytes every time, so that two people can compare what they have run.
_AT = (2026, 1, 1, 0, 0, 0)


def verifier() -> bytes:
    """Return the archive; it needs Python 3.11 or newer and nothing else."""
    sharing = sorted((_ROOT / "seedbank/calc/allocation").glob("*.py"))
    files = {path.relative_to(_ROOT).as_posix(): path.read_text() for path in sharing}
    files |= {name: (_ROOT / name).read_text() for name in _MODULES}
    files |= {f"{package}/__init__.py": "" for package in _PACKAGES}
    files["__main__.py"] = _START
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w") as archive:
        for name in sorted(files):
            archive.writestr(zipfile.ZipInfo(name, _AT), files[name])
    return packed.getvalue()
