"""The standard example of interval-censored times.

Finkelstein (1986), Biometrics 42, 845-854: months to a change of the breast under radiotherapy
alone, and with chemotherapy. "6-10" is after month 6 and by month 10, "45" not seen by month 45.
"""

from seedbank.calc.germination.course import Interval

RADIOTHERAPY = (
    "45 6-10 0-7 46 46 7-16 17 7-14 37-44 0-8 4-11 15 11-15 22 46 46 25-37 46 26-40 46 27-34 36-44"
    " 46 36-48 37 40 17-25 46 11-18 38 5-12 37 0-5 18 24 36 5-11 19-35 17-25 24 32 33 19-26 37 34"
    " 36"
)
WITH_CHEMOTHERAPY = (
    "8-12 0-22 24-31 17-27 17-23 24-30 16-24 13 11-13 16-20 18-25 17-26 32 23 44-48 10-35 0-5 5-8"
    " 12-20 11 33-40 31 13-39 19-32 34 13 16-24 35 15-22 11-17 22-32 48 30-34 13 10-17 8-21 4-9 11"
    " 14-19 4-8 34 30-36 18-24 16-60 35-39 21 11-20 14-17"
)


def interval_data(written: str) -> list[Interval]:
    found = []
    for word in written.split():
        after, _, by = word.partition("-")
        found.append(Interval(float(after), float(by) if by else None, 1))
    return found
