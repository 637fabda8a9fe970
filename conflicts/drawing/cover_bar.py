"""A bore as a bar, its covered stations filled and the others left hollow."""

from conflicts.drawing.svg import element

# The page stretches the bar to its own width.
WIDTH_PX, HEIGHT_PX = 1000.0, 20.0
LEAST_PX = 4.0  # a gap of a foot on a long bore is still to be seen


def cover_bar(
    length_m: float,
    covered_m: list[tuple[float, float]],
    gaps_m: list[tuple[float, float]],
) -> str:
    """The bar as SVG markup, hidden from readers: the page says the same in words.

    Parameters
    ----------
    length_m : float
        Of the bore in plan, above 0.
    covered_m, gaps_m : list of (from_m, to_m)
        Stations that are covered, and those that stop the work for want of a ticket.
    """
    parts = [
        element(
            "rect",
            x=low / length_m * WIDTH_PX,
            y=0.0 if kind == "covered" else 2.0,
            width=max((high - low) / length_m * WIDTH_PX, LEAST_PX),
            height=HEIGHT_PX if kind == "covered" else HEIGHT_PX - 4.0,
            class_=kind,
        )
        for kind, ranges in (("covered", covered_m), ("gap", gaps_m))
        for low, high in ranges
    ]
    base = element("line", x1=0, y1=HEIGHT_PX / 2, x2=WIDTH_PX, y2=HEIGHT_PX / 2, class_="bore-line")
    return element(
        "svg",
        base,
        *parts,
        class_="cover-bar",
        viewbox=f"0 0 {WIDTH_PX:.0f} {HEIGHT_PX:.0f}",
        preserveAspectRatio="none",
        aria_hidden="true",
    ).text()
