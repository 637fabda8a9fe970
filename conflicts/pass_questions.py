"""What is asked about a pass before it is kept: it does not fit the plan, or the passes before it."""

from collections.abc import Sequence
from dataclasses import replace
from enum import StrEnum
from itertools import pairwise

from conflicts.bit_ahead import bit_ahead
from conflicts.crossings import FoundCrossing, find_crossings
from conflicts.drilled import Drilled, DrilledCrossing, hole_made
from conflicts.engine.clearance import BoreErrors
from conflicts.engine.verdict import Verdict
from conflicts.hole_passes import ROUNDING_M, HoleSize, PassInput, PassLog, hole_as_planned
from conflicts.oddity import Oddity
from conflicts.pullback.sheet import PulledThrough
from conflicts.scene import Scene
from conflicts.sentences import station_words
from locates.units import format_length, format_station

# How much wider than what is pulled in a hole is reamed: "about 1.5 x outside diameter", an article on
# directional drilling that restates a pipe handbook (secondary page); common practice.
USUAL_RATIO = 1.5
# A reamer that is smaller by less than its wear is the same size (common practice, no source).
WORN_M = 0.003


class PassQuestion(StrEnum):
    """What does not fit."""

    UNDER_PILOT = "under_pilot"
    UNDER_LAST = "under_last"
    WIDER = "wider"
    AFTER_PULLBACK = "after_pullback"
    NOT_REAMED = "not_reamed"
    WIDTH_UNKNOWN = "width_unknown"
    BUNDLE_TOO_WIDE = "bundle_too_wide"
    TIGHT = "tight"
    NOT_CLEAR = "not_clear"
    PAST_HEAD = "past_head"


def pass_questions(
    scene: Scene,
    crossings: list[FoundCrossing],
    pilot_m: float | None,
    one: PassInput,
    drilled: Drilled | None = None,
    met: Sequence[DrilledCrossing] = (),
) -> tuple[Oddity, ...]:
    """What is odd about a pass.

    Parameters
    ----------
    scene : Scene
        Of the plan, with the passes before.
    crossings : list of FoundCrossing
        The scene's.
    pilot_m : float or None
        Diameter of the pilot.
    one : PassInput
        The pass that is to be logged.
    drilled : Drilled or None
        Where the bore was drilled, where rods are logged.
    met : sequence of DrilledCrossing
        What that path meets.

    Returns
    -------
    tuple of Oddity
    """
    log = scene.inputs.site.passes
    of_kind = _of_pullback if one.kind == "pullback" else _of_reamer
    found = [*of_kind(scene, pilot_m, log, one), _wider(scene, crossings, log, one, drilled)]
    found.append(_after(scene, log, one))
    found.append(_not_clear(scene, one, met))
    found.append(_past_head(scene, one, drilled))
    return tuple(question for question in found if question is not None)


def _of_reamer(scene: Scene, pilot_m: float | None, log: PassLog, one: PassInput) -> list[Oddity]:
    units, found = scene.inputs.job.show_units, []
    reamer = format_length(one.diameter_m, units)
    if pilot_m is not None and one.diameter_m < pilot_m - WORN_M:
        found.append(
            Oddity(
                PassQuestion.UNDER_PILOT,
                f"The reamer is {reamer}, and the pilot hole is {format_length(pilot_m, units)}: it would "
                "cut nothing.",
            )
        )
    last_m = log.reamed_m(*one.reach_m)
    if last_m is not None and one.diameter_m < last_m - WORN_M:
        found.append(
            Oddity(
                PassQuestion.UNDER_LAST,
                f"The reamer is {reamer}, and one of {format_length(last_m, units)} went there before: the "
                "hole stays as wide as that.",
            )
        )
    return found


def _of_pullback(scene: Scene, pilot_m: float | None, log: PassLog, one: PassInput) -> list[Oddity]:
    units, planned_m = scene.inputs.job.show_units, scene.inputs.final_diameter_m
    bundle = format_length(one.diameter_m, units, "up")
    if not log.reamings and pilot_m != planned_m:
        planned = format_length(planned_m, units)
        return [
            Oddity(
                PassQuestion.NOT_REAMED,
                f"No reaming pass is logged, and {planned} is planned. The clearances count with {planned} "
                "as long as none is.",
            )
        ]
    unknown = unknown_width(scene, pilot_m, log)
    found = [Oddity(PassQuestion.WIDTH_UNKNOWN, unknown)] if unknown else []
    narrowest_m, where = narrowest_hole(scene, pilot_m, log)
    hole = format_length(narrowest_m, units, "down")
    if one.diameter_m >= narrowest_m:
        return [
            *found,
            Oddity(
                PassQuestion.BUNDLE_TOO_WIDE,
                f"The conduits measure {bundle} across, and the hole {hole}{where}: they do not go in.",
            ),
        ]
    if narrowest_m < USUAL_RATIO * one.diameter_m:
        return [
            *found,
            Oddity(
                PassQuestion.TIGHT,
                f"The hole is {hole}{where}, {narrowest_m / one.diameter_m:.2f} times the {bundle} of the "
                f"conduits; {USUAL_RATIO:g} times is usual (common practice). A tight hole raises the pull "
                "and may lift the ground.",
            ),
        ]
    return found


def hole_pulled_through(scene: Scene, pilot_m: float | None) -> PulledThrough:
    """The hole that conduits are pulled through: as reamed, and as planned as long as no reamer is logged.

    Parameters
    ----------
    scene : Scene
        Of the plan.
    pilot_m : float or None
        Of the pilot, metres.
    """
    log, planned_m = scene.inputs.site.passes, scene.inputs.final_diameter_m
    if not log.reamings:
        return PulledThrough(planned_m, planned_m, is_reamed=False)
    least_m, _ = narrowest_hole(scene, pilot_m, log)
    most_m = max(least_m, *(one.diameter_m for one in log.reamings))
    return PulledThrough(least_m, most_m, is_reamed=True, unknown=unknown_width(scene, pilot_m, log))


def unknown_width(scene: Scene, pilot_m: float | None, log: PassLog) -> str:
    """Where nobody knows how wide the hole is, in a sentence: no reamer went, and the pilot has no size.

    Parameters
    ----------
    scene : Scene
        Of the plan.
    pilot_m : float or None
        Of the pilot, metres.
    log : PassLog

    Returns
    -------
    str
        Empty where it is known along the whole bore, and where no reamer is logged anywhere.
    """
    if pilot_m is not None or not log.reamings:
        return ""
    units = scene.inputs.job.show_units
    bare = [
        " to ".join(format_station(at_m, units) for at_m in (low_m, high_m))
        for low_m, high_m, reamed_m in _stretches(scene, log)
        if reamed_m is None
    ]
    if not bare:
        return ""
    return (
        f"No reamer went from station {', nor from '.join(bare)}, and the size of the pilot is not recorded: "
        "how wide the hole is there is not known. Enter the pilot's size with the bore."
    )


def _stretches(scene: Scene, log: PassLog) -> list[tuple[float, float, float | None]]:
    """The bore between the ends of its reamings: from, to, and the largest reamer there, if any went."""
    length_m = scene.path.length_m
    ends = {end for one in log.reamings for end in one.reach_m if 0.0 < end < length_m}
    middles = [
        (low_m, high_m, 0.5 * (low_m + high_m)) for low_m, high_m in pairwise([0.0, *sorted(ends), length_m])
    ]
    return [(low_m, high_m, log.reamed_m(at_m, at_m)) for low_m, high_m, at_m in middles]


def narrowest_hole(scene: Scene, pilot_m: float | None, log: PassLog) -> tuple[float, str]:
    """The least diameter that is on record anywhere along the bore, and where, in words.

    Parameters
    ----------
    scene : Scene
        Of the plan.
    pilot_m : float or None
        Of the pilot, metres.
    log : PassLog

    Returns
    -------
    (float, str)
        Where no reamer went it is the pilot's, metres; where that is unknown the stretch does not count, and
        `unknown_width` says so. No words where it is the same along the whole bore.
    """
    units, found = scene.inputs.job.show_units, []
    for low_m, high_m, reamed_m in _stretches(scene, log):
        known = [one for one in (reamed_m, pilot_m) if one is not None]
        if known:
            found.append((max(known), low_m, high_m))
    if not found:
        return scene.inputs.final_diameter_m, ""
    least_m, low_m, high_m = min(found)
    if all(diameter_m == least_m for diameter_m, _, _ in found):
        return least_m, ""
    place = " to ".join(format_station(at_m, units) for at_m in (low_m, high_m))
    return least_m, f" at {place}"


def _wider(
    scene: Scene, crossings: list[FoundCrossing], log: PassLog, one: PassInput, drilled: Drilled | None
) -> Oddity | None:
    """A pass that makes the hole wider than it counted, with the crossings that turn."""
    inputs = scene.inputs
    units, planned_m = inputs.job.show_units, inputs.final_diameter_m
    if one.diameter_m <= planned_m + ROUNDING_M:
        return None
    hole = hole_as_planned(planned_m, PassLog((*log.passes, one)))
    wide = format_length(one.diameter_m, units, "up")
    what = f"conduits measure {wide} across" if one.kind == "pullback" else f"reamer is {wide}"
    start = f"The {what}, and {format_length(planned_m, units)} is planned."
    turned = [_turned_words(found, units) for found in turned_by(scene, crossings, hole)]
    if drilled is not None:
        turned += [f"As drilled, {words}" for words in _turned_as_drilled(scene, drilled, hole)]
    if not turned:
        return Oddity(PassQuestion.WIDER, f"{start} No crossing turns by it, but every margin gets less.")
    return Oddity(PassQuestion.WIDER, f"{start} With it {' '.join(turned)}")


def _not_clear(scene: Scene, one: PassInput, met: Sequence[DrilledCrossing]) -> Oddity | None:
    """A pass over lines that the drilled hole is not clear of, and that nobody excused."""
    units, (low_m, high_m) = scene.inputs.job.show_units, one.reach_m
    passed = [it for it in met if it.stops and it.lies.from_m <= high_m and it.lies.to_m >= low_m]
    if not passed:
        return None
    told = "; ".join(f"{it.crossing.mark.ref} at {station_words(it.station_m, units)}" for it in passed)
    return Oddity(
        PassQuestion.NOT_CLEAR,
        f"The drilled hole is not clear of a line where this pass goes: {told}. Nothing goes through there "
        "before the stop is settled. If it went, log it, and tell the safety manager and the operator.",
    )


def _past_head(scene: Scene, one: PassInput, drilled: Drilled | None) -> Oddity | None:
    """A pass through ground that no logged rod came to, by more than the same place may be off."""
    if drilled is None:
        return None
    job, to_m = scene.inputs.job, min(one.reach_m[1], scene.path.length_m)
    bit_m = bit_ahead(scene, drilled.head).station_m
    if to_m <= bit_m + job.bore_horizontal_m + job.tolerance_zone_m:
        return None
    return Oddity(
        PassQuestion.PAST_HEAD,
        f"The bit of the last rod in the ground is at {station_words(bit_m, job.show_units)}, and this pass "
        f"goes to {station_words(to_m, job.show_units)}: nothing goes through where nothing was drilled. Log "
        "the rods that are missing, or write from where to where the pass went.",
    )


def _turned_as_drilled(scene: Scene, drilled: Drilled, hole: HoleSize) -> list[str]:
    along = replace(scene.among_all_lines(), path=drilled.path)
    now = find_crossings(along, drilled.errors_between, drilled.hole_along(hole_made(scene)))
    turned = turned_by(along, now, drilled.hole_along(hole), drilled.errors_between)
    return [_turned_words(found, scene.inputs.job.show_units) for found in turned]


def turned_by(
    scene: Scene,
    crossings: list[FoundCrossing],
    hole: HoleSize,
    bore_errors_m: BoreErrors | None = None,
) -> list[FoundCrossing]:
    """The crossings that a hole of that size would have and that are worse than those of now.

    Parameters
    ----------
    scene : Scene
    crossings : list of FoundCrossing
        Those of now.
    hole : HoleSize
        By the stations of the scene's path.
    bore_errors_m : BoreErrors or None
        As for `find_crossings`.

    Returns
    -------
    list of FoundCrossing
        By station: not clear then, and now clear, of another verdict, or not there.
    """
    found = []
    for then in find_crossings(scene, bore_errors_m, hole):
        lies = then.clearance
        now = [
            one.verdict
            for one in crossings
            if one.mark.mark_id == then.mark.mark_id
            and one.clearance.from_m <= lies.to_m
            and one.clearance.to_m >= lies.from_m
        ]
        if then.verdict is not Verdict.CLEAR and then.verdict not in now:
            found.append(then)
    return found


def _turned_words(one: FoundCrossing, units: str) -> str:
    figures = one.clearance
    place = f"{one.mark.ref} at {station_words(figures.station_m, units)} turns {one.verdict}"
    if figures.worst_case_m is None:
        return f"{place}: its depth is unknown."
    return (
        f"{place}: {format_length(figures.worst_case_m, units, 'down')} in the worst case, "
        f"{format_length(one.required_m, units, 'up')} required."
    )


def _after(scene: Scene, log: PassLog, one: PassInput) -> Oddity | None:
    pulled = log.pullback
    if pulled is None or (one.kind != "pullback" and one.made_at <= pulled.made_at):
        return None
    size = format_length(pulled.diameter_m, scene.inputs.job.show_units)
    return Oddity(
        PassQuestion.AFTER_PULLBACK,
        f"A pullback is logged already, {size} across: withdraw it first if it was entered wrongly.",
    )
