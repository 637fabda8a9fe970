"""The figures at the head of the audit, in words."""

from dataclasses import dataclass

from locates.units import UNKNOWN, format_length


@dataclass(frozen=True)
class MarginFigures:
    """How many margins there are, how many are known, the least and median of these, and those below 0."""

    count: int = 0
    known: int = 0
    least_m: float | None = None
    median_m: float | None = None
    short: int = 0


@dataclass(frozen=True)
class EveryMargin:
    """Figures of worst cases at signing, of gaps measured on watches, and of worst cases as drilled."""

    releases: MarginFigures = MarginFigures()
    watches: MarginFigures = MarginFigures()
    holes: MarginFigures = MarginFigures()

    @property
    def every(self) -> tuple[MarginFigures, MarginFigures, MarginFigures]:
        """All of them."""
        return self.releases, self.watches, self.holes

    @property
    def count(self) -> int:
        """How many margins there are, known or not."""
        return sum(one.count for one in self.every)

    @property
    def unknown(self) -> int:
        """How many of them have no known figure."""
        return self.count - sum(one.known for one in self.every)


@dataclass(frozen=True)
class Figure:
    """A figure with its name, a note under it, and whether it is one to be heeded."""

    name: str
    words: str
    note: str = ""
    is_stop: bool = False


def audit_figures(counts: dict[str, int], margins: EveryMargin, show_units: str) -> list[Figure]:
    """The figures of all that is chosen.

    Parameters
    ----------
    counts : dict
        Code of a part to how many rows it has.
    margins : EveryMargin
    show_units : str
        ``feet`` or ``metric``.

    Returns
    -------
    list of Figure
        Margins are rounded down, so that none reads as larger than it is.
    """
    figures = [
        Figure("Releases signed", str(counts["releases"])),
        Figure("Crossings with a pass not seen", str(counts["unwatched"]), is_stop=counts["unwatched"] > 0),
        Figure("Crossings under variance", str(counts["excused"])),
        Figure("Edited after release", str(counts["edits"])),
        Figure("Variances asked for", str(counts["variances"])),
        Figure("Damage and near misses", str(counts["damage"]), is_stop=counts["damage"] > 0),
    ]
    named = [("worst case at signing", margins.releases), ("gap on a watch", margins.watches)]
    if margins.holes.count:
        named.append(("line the hole alone meets", margins.holes))
    for name, found in named:
        least, median = (format_length(one, show_units, "down") for one in (found.least_m, found.median_m))
        notes = [f"median {median}"] if found.known else []
        notes.append(f"{found.known} known of {found.count}")
        if found.short:
            notes.append(f"{found.short} below what is required")
        words = least if found.known else UNKNOWN
        figures.append(Figure(f"Least margin, {name}", words, ", ".join(notes), is_stop=found.short > 0))
    return figures
