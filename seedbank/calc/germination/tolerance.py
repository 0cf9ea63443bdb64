"""Tolerance tables of germination tests, as data.

They are tables and not a formula: the rounded range of a binomial sample misses more than a
quarter of the published rows, so what laboratories go by is what is printed.
"""

from crosses.calc.errors import BadInput

# Highest average, lowest average of the row, then the greatest range tolerated among four and
# among two replicates of 100 seeds, in percent; None where the table has no figure. Averages below
# 51 stand under their complement: p and 101 - p share a row. 100, 1 and 0 are not in the table.
# United States Code of Federal Regulations, 7 CFR 201.55 (2015 edition).
_RANGES: tuple[tuple[int, int, int, int | None], ...] = (
    (99, 99, 5, None),
    (98, 98, 6, None),
    (97, 97, 7, 6),
    (96, 96, 8, 6),
    (95, 95, 9, 7),
    (94, 94, 10, 8),
    (93, 93, 10, 8),
    (92, 92, 11, 9),
    (91, 91, 11, 9),
    (90, 90, 12, 9),
    (89, 89, 12, 10),
    (88, 88, 13, 10),
    (87, 87, 13, 11),
    (86, 84, 14, 11),
    (83, 81, 15, 12),
    (80, 78, 16, 13),
    (77, 76, 17, 13),
    (75, 73, 17, 14),
    (72, 69, 18, 14),
    (68, 67, 18, 15),
    (66, 56, 19, 15),
    (55, 55, 20, 15),
    (54, 51, 20, 16),
)

# Highest and lowest average of two tests of 400 seeds, and the greatest difference tolerated
# between them, in percent; complements alike. Association of Official Seed Analysts, as adopted in
# the Louisiana Administrative Code 7:XIII.139.
_DIFFERENCES: tuple[tuple[int, int, int], ...] = (
    (99, 99, 2),
    (98, 97, 3),
    (96, 94, 4),
    (93, 91, 5),
    (90, 87, 6),
    (86, 82, 7),
    (81, 76, 8),
    (75, 70, 9),
    (69, 60, 10),
    (59, 51, 11),
)


def maximum_range(average_percent: int, replicates: int) -> int | None:
    """Greatest range tolerated among replicates of 100 seeds, in percent.

    Parameters
    ----------
    average_percent : int
        Their average, rounded half up to a whole percent.
    replicates : int
        Four or two.

    Returns
    -------
    int or None
        None where the table has no figure: averages of 100, 1 and 0, and two replicates averaging
        98, 99, 2 or 3.

    Raises
    ------
    BadInput
        If the average is not a percentage, or there are neither four nor two replicates.

    Examples
    --------
    >>> maximum_range(92, 4), maximum_range(9, 4), maximum_range(99, 2)
    (11, 11, None)

    """
    if replicates not in (2, 4):
        raise BadInput("The table is for two or four replicates of 100 seeds.", field="replicates")
    looked_up = _upper_half(average_percent)
    for highest, lowest, among_four, among_two in _RANGES:
        if lowest <= looked_up <= highest:
            return among_four if replicates == 4 else among_two
    return None


def maximum_difference(average_percent: int) -> int | None:
    """Greatest difference tolerated between two tests of 400 seeds, in percent.

    Parameters
    ----------
    average_percent : int
        Average of the two tests, rounded half up to a whole percent.

    Returns
    -------
    int or None
        None for averages of 100, 1 and 0, which the table leaves out.

    Raises
    ------
    BadInput
        If the average is not a percentage.

    Examples
    --------
    >>> maximum_difference(85), maximum_difference(16), maximum_difference(100)
    (7, 7, None)

    """
    looked_up = _upper_half(average_percent)
    for highest, lowest, difference in _DIFFERENCES:
        if lowest <= looked_up <= highest:
            return difference
    return None


def _upper_half(average_percent: int) -> int:
    if not 0 <= average_percent <= 100:
        raise BadInput("An average lies between 0 and 100 percent.", field="average_percent")
    return max(average_percent, 101 - average_percent)
