"""Labels in a row: each as near to its place as its neighbours leave it."""

from collections.abc import Sequence


def spread(wanted: Sequence[float], widths: Sequence[float], low: float, high: float) -> list[float]:
    """Middles of labels that do not overlap, moved from their wanted places as little as may be.

    Parameters
    ----------
    wanted : sequence of float
        Where the middle of each label would be, not decreasing.
    widths : sequence of float
        Of each label, its gap included.
    low, high : float
        Ends of the row.

    Returns
    -------
    list of float
        Where the row is shorter than the labels together, they overlap evenly.

    Notes
    -----
    Least squares under the order of the labels: with the room of all labels before it taken off, the places
    must not decrease, which is isotonic regression (pool adjacent violators; Barlow and others, 1972).
    """
    total = sum(widths)
    if total > high - low:
        # Narrower by what is missing, so that every label still has a place.
        widths = [width * (high - low) / total for width in widths]
    before = [sum(widths[:index]) + 0.5 * widths[index] for index in range(len(widths))]
    pools: list[tuple[float, int]] = []
    for place, room in zip(wanted, before, strict=True):
        mean, count = place - room, 1
        while pools and pools[-1][0] > mean:
            other, others = pools.pop()
            mean, count = (mean * count + other * others) / (count + others), count + others
        pools.append((mean, count))
    last = high - sum(widths)
    free = [min(max(mean, low), max(low, last)) for mean, count in pools for _ in range(count)]
    return [place + room for place, room in zip(free, before, strict=True)]
