"""The profile of a bore as a picture to scale, and the words that go with it."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from conflicts.crossings import FoundCrossing
from conflicts.drawing.profile_drilled import drilled_parts, drilled_words, lowest_m
from conflicts.drawing.profile_figures import ProfileFigures, profile_figures
from conflicts.drawing.profile_ground import ground_parts, hole_parts
from conflicts.drawing.profile_lines import FacilityWords, line_parts
from conflicts.drawing.profile_rods import ROD_STRIP_PX, joint_marks, rod_strip, rods_of
from conflicts.drawing.profile_sheet import (
    LEFT_PX,
    Sheet,
    Spread,
    height_axis,
    height_grid,
    profile_sheet,
    station_axis,
)
from conflicts.drawing.svg import Element, element, px
from conflicts.drilled_beside import NamedPath
from conflicts.scene import Scene
from locates.units import format_length


@dataclass(frozen=True)
class ProfileDrawing:
    """A profile as markup.

    Attributes
    ----------
    svg : str
        The picture.
    axis_svg : str
        Its axis of heights alone, to stay in view while the picture scrolls under it.
    exaggeration : int
        How many times larger heights are drawn than lengths.
    shows_unknown, shows_test_holes, shows_cover, shows_pits : bool
        What the legend has to explain.
    """

    svg: str
    axis_svg: str
    exaggeration: int
    shows_unknown: bool
    shows_test_holes: bool
    shows_cover: bool
    shows_pits: bool


def draw_profile(
    scene: Scene,
    crossings: list[FoundCrossing],
    words: FacilityWords,
    *,
    is_true_scale: bool = False,
    shows_rods: bool = False,
    name: str = "",
    drilled: Sequence[NamedPath] = (),
    beside: Spread | None = None,
    entry_m: float = 0.0,
) -> ProfileDrawing:
    """Draw the profile of a bore among its lines.

    Parameters
    ----------
    scene : Scene
    crossings : list of FoundCrossing
        By station, as `conflicts.crossings.find_crossings` gives them.
    words : FacilityWords
    is_true_scale : bool
        Heights and lengths at the same scale; else heights larger, by as much as makes the picture readable.
    shows_rods : bool
        Joints in the hole, and the pitch at each and its change below.
    name : str
        Begins every name in the picture, where a page has more than one.
    drilled : sequence of NamedPath
        What was drilled, to lie over the plan.
    beside : Spread, optional
        Of the picture beside it, which is to have the same scale.
    entry_m : float
        The station that the entry is called, where the rig stands elsewhere than recorded.
    """
    figures = replace(profile_figures(scene, crossings), drilled_lows_m=tuple(lowest_m(drilled)))
    sheet = profile_sheet(
        figures,
        scene.inputs.job.show_units,
        height_from_ground=len(scene.ground.stations_m) == 0,
        is_true_scale=is_true_scale,
        beside=beside,
        counted_from_m=entry_m,
    )
    ground = scene.ground.at([one.station_m for one in figures.lines])
    title, description = _words(scene, figures, sheet)
    description = " ".join([description, *drilled_words(sheet, drilled)])
    rods = rods_of(scene) if shows_rods else None
    clip = f"url(#{name}profile-plot)"
    svg = element(
        "svg",
        element("title", title, id=f"{name}profile-title"),
        element("desc", description, id=f"{name}profile-words"),
        element("clipPath", element("rect", **_plot(sheet)), id=f"{name}profile-plot"),
        height_grid(sheet),
        station_axis(sheet, scene.path.length_m),
        element("g", *ground_parts(sheet, figures), clip_path=clip),
        element("g", *hole_parts(sheet, figures), clip_path=clip),
        element("g", *drilled_parts(sheet, drilled), clip_path=clip),
        *line_parts(sheet, figures, words, ground, name),
        height_axis(sheet),
        *(joint_marks(sheet, rods) if rods is not None else ()),
        *(rod_strip(sheet, rods) if rods is not None else ()),
        class_="profile plot",
        role="group",
        aria_labelledby=f"{name}profile-title",
        aria_describedby=f"{name}profile-words",
        **_size(sheet, sheet.width_px, 0.0 if rods is None else ROD_STRIP_PX),
    )
    return ProfileDrawing(
        svg=svg.text(),
        axis_svg=_axis_alone(sheet).text(),
        exaggeration=round(sheet.scale.exaggeration),
        shows_unknown=any(one.elevation_m is None for one in figures.lines),
        shows_test_holes=bool(figures.holes),
        shows_cover=figures.cover_m is not None,
        shows_pits=bool(figures.pits),
    )


def spread_of(scene: Scene, crossings: list[FoundCrossing], entry_m: float = 0.0) -> Spread:
    """From where to where the profile of a bore goes; ``entry_m`` is the station that its entry is called."""
    figures = profile_figures(scene, crossings)
    return Spread(figures.stations_m, figures.elevations_m).shifted(entry_m)


def _words(scene: Scene, figures: ProfileFigures, sheet: Sheet) -> tuple[str, str]:
    units = scene.inputs.job.show_units
    begin, end = sheet.station(0.0), sheet.station(scene.path.length_m)
    hole = format_length(2.0 * scene.bore_radius_m, units)
    if scene.inputs.wider is not None:
        planned = format_length(scene.inputs.final_diameter_m, units)
        hole = f"{hole} where it is widest, {planned} as planned,"
    deepest = float((scene.ground.at(scene.path.stations_m) - scene.path.points_m[:, 2]).max())
    unknown = sum(one.elevation_m is None for one in figures.lines)
    count = len(figures.lines)
    description = (
        f"From the entry at station {begin} to the exit at {end}. The finished hole is "
        f"{hole} in diameter, its centre at most {format_length(deepest, units)} below the ground. "
        f"{count} {'crossing' if count == 1 else 'crossings'}, {unknown} of unknown depth, each with its "
        f"figures in the list. {_scale_words(sheet)}"
    )
    return f"Profile of {scene.inputs.name}", description


def _scale_words(sheet: Sheet) -> str:
    times = round(sheet.scale.exaggeration)
    if times == 1:
        return "Heights are drawn as large as lengths."
    return f"Heights are drawn {times} times as large as lengths."


def _plot(sheet: Sheet) -> dict[str, float]:
    scale = sheet.scale
    return {
        "x": scale.left_px,
        "y": scale.top_px,
        "width": sheet.right_px - scale.left_px,
        "height": sheet.bottom_px - scale.top_px,
    }


def _size(sheet: Sheet, width_px: float, more_px: float = 0.0) -> dict[str, str]:
    width, height = px(width_px), px(sheet.height_px + more_px)
    return {"width": width, "height": height, "viewbox": f"0 0 {width} {height}"}


def _axis_alone(sheet: Sheet) -> Element:
    """The axis of heights on paper of its own, which hides what scrolls under it."""
    paper = element("rect", x=0, y=0, width=LEFT_PX, height=sheet.height_px, class_="paper")
    return element(
        "svg",
        paper,
        height_axis(sheet),
        class_="profile-axis plot",
        aria_hidden="true",
        **_size(sheet, LEFT_PX + 1.0),
    )
