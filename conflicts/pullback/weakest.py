"""What holds the pull: the weakest of the conduits and the gear between them and the rods."""

from dataclasses import dataclass

from conflicts.pullback.bundle import Bundle


@dataclass(frozen=True, slots=True)
class Link:
    """One thing that the pull goes through, and what it bears, in newtons; None where it is not given."""

    words: str
    bears_n: float | None


def conduits_bear_n(bundle: Bundle, safe_stress_pa: float) -> float:
    """Safe pull of all conduits of a bundle: the stress that their maker allows, times their walls."""
    return safe_stress_pa * bundle.wall_area_m2


def weakest_link(links: list[Link]) -> Link | None:
    """The link that bears least; None where one of them is not given, for that one may be the weakest."""
    known = [link for link in links if link.bears_n is not None]
    if not known or len(known) < len(links):
        return None
    return min(known, key=lambda link: link.bears_n or 0.0)


def grip_fits(inside_diameter_m: float, least_m: float, greatest_m: float) -> bool:
    """Whether a pulling grip, which takes inside diameters from one size to another, fits a conduit."""
    return least_m <= inside_diameter_m <= greatest_m
