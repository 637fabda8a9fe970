"""Whether the rig can drill a bore's profile, in sentences."""

import numpy as np

from conflicts.engine.drillability import (
    SLACK_RATIO,
    Bend,
    end_pitches_ratio,
    least_cover,
    tightest_kink,
    tightest_rod,
)
from conflicts.engine.frame import chainages_m
from conflicts.engine.line import project_on
from conflicts.engine.path import rod_turns_rad
from conflicts.inputs import RigInput
from conflicts.scene import Scene
from conflicts.sentences import station_words
from locates.units import format_grade, format_length

RIG_LIMITS = {
    "rod_length_m": "rod length",
    "bend_radius_m": "bend radius",
    "entry_pitch_ratio_min": "least entry pitch",
    "entry_pitch_ratio_max": "greatest entry pitch",
    "exit_pitch_ratio_min": "least exit pitch",
    "exit_pitch_ratio_max": "greatest exit pitch",
    "minimum_cover_m": "minimum cover",
}


def profile_faults(scene: Scene) -> list[str]:
    """Sentences on every limit of the rig that the profile breaks or that is not recorded."""
    rig = scene.inputs.rig
    missing = [words for name, words in RIG_LIMITS.items() if getattr(rig, name) is None]
    faults = []
    if missing:
        faults.append(f"Not recorded for the rig: {', '.join(missing)}. Enter it.")
    return faults + _end_faults(scene) + _bend_faults(scene) + _pitch_faults(scene) + _cover_faults(scene)


def _end_faults(scene: Scene) -> list[str]:
    """Rods that end before the alignment does, by more than the steering allowance makes up for."""
    end_m = float(project_on(scene.plan_m[-1:], scene.alignment_m)[0])
    short_m = float(chainages_m(scene.alignment_m)[-1]) - end_m
    if short_m <= scene.inputs.job.bore_horizontal_m:
        return []
    units = scene.inputs.job.show_units
    return [
        f"The rods end {format_length(short_m, units, 'up')} before the alignment does, and what lies there "
        "is not assessed. Plan the rods to its end."
    ]


def _bend(scene: Scene) -> Bend | None:
    if scene.rods is None:
        return tightest_kink(scene.path)
    turns = rod_turns_rad(scene.alignment_m, scene.rods)
    run = np.cumsum(scene.rods.lengths_m * np.sin(scene.rods.inclinations_rad))
    return tightest_rod(scene.rods.lengths_m[1:], turns, run[:-1])


def _bend_faults(scene: Scene) -> list[str]:
    limit, rod = scene.inputs.rig.bend_radius_m, scene.inputs.rig.rod_length_m
    bend = _bend(scene)
    if limit is None or bend is None or bend.radius_m >= limit * (1.0 - SLACK_RATIO):
        return []
    units = scene.inputs.job.show_units
    words = (
        f"The bend at {station_words(bend.station_m, units)} leaves room for a radius of "
        f"{format_length(bend.radius_m, units, 'down')}; the rig needs {format_length(limit, units, 'up')}"
    )
    if rod is not None:
        # The published convention for pitch change a rod is tan(L / R).
        words += f" (at most {format_grade(float(np.tan(rod / limit)))} of pitch change a rod)"
    return [f"{words}. Redesign the profile."]


def entry_pitches_ratio(rig: RigInput) -> tuple[float | None, float | None]:
    """Least and greatest pitch at the entry, down negative; None where not recorded.

    A range of positive figures states how steeply the rod goes down.
    """
    low, high = rig.entry_pitch_ratio_min, rig.entry_pitch_ratio_max
    if low is not None and high is not None and low >= 0.0 and high > 0.0:
        return -high, -low
    return low, high


def _pitch_faults(scene: Scene) -> list[str]:
    if scene.rods is None:
        entry, leaving = end_pitches_ratio(scene.path)
    else:
        entry, leaving = float(scene.rods.pitches_ratio[0]), float(scene.rods.pitches_ratio[-1])
    rig = scene.inputs.rig
    low, high = entry_pitches_ratio(rig)
    faults = []
    for where, pitch, least, greatest in (
        ("entry", entry, low, high),
        ("exit", leaving, rig.exit_pitch_ratio_min, rig.exit_pitch_ratio_max),
    ):
        below = least is not None and pitch < least - SLACK_RATIO
        above = greatest is not None and pitch > greatest + SLACK_RATIO
        if below or above:
            faults.append(
                f"The {where} pitch is {format_grade(pitch)}; the rig can do "
                f"{format_grade(least)} to {format_grade(greatest)}."
            )
    return faults


def _cover_faults(scene: Scene) -> list[str]:
    wanted = scene.inputs.rig.minimum_cover_m
    if wanted is None:
        return []
    cover, station = least_cover(scene.path, scene.ground, scene.bore_radius_m, wanted)
    if cover >= wanted * (1.0 - SLACK_RATIO):
        return []
    units = scene.inputs.job.show_units
    return [
        f"The cover at {station_words(station, units)} is {format_length(cover, units, 'down')}; "
        f"{format_length(wanted, units, 'up')} is wanted. Go deeper there."
    ]
