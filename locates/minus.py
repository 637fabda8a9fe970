"""The sign of a negative figure: the minus sign where a person reads it, a hyphen where a program does."""

MINUS = "\N{MINUS SIGN}"


def format_decimal(number: float, places: int) -> str:
    """A number in decimals, with the minus sign U+2212 if it is negative and none before a zero.

    Parameters
    ----------
    number : float
        Finite.
    places : int
        Decimals after the point.

    Returns
    -------
    str
        Rounded to the nearest, halves to even.

    Examples
    --------
    >>> format_decimal(-0.004, 2)
    '0.00'
    """
    # Adding 0 turns a negative zero into zero.
    return f"{round(number, places) + 0.0:.{places}f}".replace("-", MINUS)


def plain_minus(words: str) -> str:
    """Words with a hyphen for each minus sign, for a document that programs read.

    Parameters
    ----------
    words : str

    Returns
    -------
    str

    Examples
    --------
    >>> plain_minus("\N{MINUS SIGN}12.5 %")
    '-12.5 %'
    """
    return words.replace(MINUS, "-")
