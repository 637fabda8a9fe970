"""The hole as it was drilled in a cross-section: where its path meets the section, and how far off."""

from dataclasses import dataclass

import numpy as np

from conflicts.drawing.scale import Scale
from conflicts.drawing.section_figures import Section
from conflicts.drawing.svg import Element, element, points
from conflicts.drilled import Drilled, hole_made
from conflicts.engine.frame import FloatArray
from conflicts.scene import Scene

CROSS_PX = 4.0
# A hole longer than so many of its radii in the section is cut lengthwise.
LENGTHWISE_RADII = 3.0


@dataclass(frozen=True, eq=False)
class DrilledHole:
    """A drilled path at a section, metres.

    Attributes
    ----------
    across_m, elevation_m : float
        In the section: where the path goes through it; cut lengthwise, where it passes the planned place.
    aside_m : float
        Beside the section, to the right of the bore; 0 where the path goes through it.
    radius_m, horizontal_m, vertical_m : float
        Of the finished hole, and what its place may be off by.
    along_m : (n, 2) float array or None
        The path in the section where that is cut lengthwise.
    """

    across_m: float
    elevation_m: float
    aside_m: float
    radius_m: float
    horizontal_m: float
    vertical_m: float
    along_m: FloatArray | None


def is_lengthwise(scene: Scene, section: Section) -> bool:
    """Whether a section cuts the hole so nearly lengthwise that only its height shows.

    Parameters
    ----------
    scene : Scene
    section : Section
    """
    return section.hole_half_length_m > LENGTHWISE_RADII * scene.bore_radius_m


def drilled_hole(scene: Scene, section: Section, drilled: Drilled) -> DrilledHole | None:
    """A drilled path at a section.

    Parameters
    ----------
    scene : Scene
        Of the plan, with what was reamed and pulled in, for the radius of the finished hole.
    section : Section
    drilled : Drilled

    Returns
    -------
    DrilledHole or None
        At the place nearest to the planned hole; None where the head has not come to it.
    """
    right = section.plane.right
    normal = np.array([-right[1], right[0]])
    across_m, beside_m = (
        (drilled.path.points_m[:, :2] - section.plane.origin_m[:2]) @ np.array([right, normal]).T
    ).T
    lengthwise = is_lengthwise(scene, section)
    met = _met(across_m, beside_m) if lengthwise else _met(beside_m, across_m)
    if met is None:
        return None
    piece, share = met

    def there(values: FloatArray) -> float:
        return float(values[piece] + share * (values[piece + 1] - values[piece]))

    station_m = there(drilled.path.stations_m)
    horizontal_m, vertical_m = drilled.errors_between(station_m, station_m)
    elevations_m = drilled.path.points_m[:, 2]
    return DrilledHole(
        across_m=there(across_m),
        elevation_m=there(elevations_m),
        aside_m=-there(beside_m),
        radius_m=0.5 * hole_made(scene).widest_between(section.station_m, section.station_m),
        horizontal_m=horizontal_m,
        vertical_m=vertical_m,
        along_m=np.column_stack([across_m, elevations_m]) if lengthwise else None,
    )


def _met(away_m: FloatArray, other_m: FloatArray) -> tuple[int, float] | None:
    """Where a path comes from one side to the other, nearest by ``other_m``: the piece and its share."""
    pieces = np.flatnonzero((away_m[:-1] <= 0.0) != (away_m[1:] <= 0.0))
    if len(pieces) == 0:
        return None
    shares = away_m[pieces] / (away_m[pieces] - away_m[pieces + 1])
    others = other_m[pieces] + shares * (other_m[pieces + 1] - other_m[pieces])
    nearest = int(np.argmin(np.abs(others)))
    return int(pieces[nearest]), float(shares[nearest])


def drilled_hole_parts(scale: Scale, hole: DrilledHole) -> list[Element]:
    """The finished hole about the drilled path, the band that it may lie in, and a cross in its middle."""
    x, y = scale.x(hole.across_m), scale.y(hole.elevation_m)
    cross = f"M{x - CROSS_PX:.1f} {y:.1f}h{2 * CROSS_PX:.0f}M{x:.1f} {y - CROSS_PX:.1f}v{2 * CROSS_PX:.0f}"
    middle = element("path", d=cross, class_="drilled-middle")
    if hole.along_m is not None:
        band = _strip(scale, hole.along_m, hole.radius_m + hole.vertical_m, "drilled-band")
        return [band, _strip(scale, hole.along_m, hole.radius_m, "drilled-hole"), middle]
    radius = hole.radius_m * scale.across_px_per_m
    half_x = (hole.radius_m + hole.horizontal_m) * scale.across_px_per_m
    half_y = (hole.radius_m + hole.vertical_m) * scale.up_px_per_m
    band = element(
        "rect",
        x=x - half_x,
        y=y - half_y,
        width=2 * half_x,
        height=2 * half_y,
        rx=radius,
        ry=radius,
        class_="drilled-band",
    )
    ring = element("circle", cx=f"{x:.2f}", cy=f"{y:.2f}", r=f"{radius:.2f}", class_="drilled-hole")
    return [band, ring, middle]


def _strip(scale: Scale, along_m: FloatArray, half_m: float, class_: str) -> Element:
    """So much above and below a path."""
    top, foot = ([(scale.x(x), scale.y(z + up)) for x, z in along_m.tolist()] for up in (half_m, -half_m))
    return element("polygon", points=points([*top, *reversed(foot)]), class_=class_)
