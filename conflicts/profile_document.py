"""The document of a profile search, and the same as a table for the operator."""

import textwrap
from typing import Any

import numpy as np

from conflicts.crossings import FoundCrossing
from conflicts.engine.profile_arcs import RodProfile
from conflicts.planned_profile import PlannedProfile, margin_of
from conflicts.profile_words import NOT_FOUND, conflict_sentences, relaxation_sentence
from conflicts.sentences import line_name
from locates.minus import plain_minus
from locates.units import format_grade, format_length, format_station

SCHEMA_VERSION = 1
COLUMNS = 100
CAUTIONS = (
    "A profile here is computed from records. It does not replace exposing a line, the rig maker's limits, "
    "the law of the place, the facility operators or licensed practice. It is no release: enter it as the "
    "bore's rods and have the bore assessed."
)
HEADER = ("Rod", "Station", "Depth", "Pitch", "Change", "Near")
WIDTHS = (4, 9, 11, 9, 9, 50)


def profile_document(found: PlannedProfile) -> dict[str, Any]:
    """What a search came to, in metres and ratios; stations from the recorded entry, negative behind it.

    Parameters
    ----------
    found : PlannedProfile
    """
    units = found.inputs.job.show_units
    return {
        "schema_version": SCHEMA_VERSION,
        "job": found.inputs.job.name,
        "bore": found.inputs.name,
        "inputs_digest": found.inputs.digest(),
        "found": found.rods is not None,
        "none_is_proven": found.is_proven,
        "least_margin_m": found.least_margin_m,
        "no_margin_above_m": found.no_margin_above_m,
        "entry_station_m": None if found.rods is None else found.rods.entry_station_m,
        "length_m": None if found.rods is None else found.rods.length_m,
        "rods": [] if found.rods is None else _rods(found, found.rods),
        "crossings": [_crossing(found, one) for one in found.crossings],
        "profile_faults": [plain_minus(one) for one in found.faults],
        "why_none": [plain_minus(one) for one in why_none(found)],
        "relaxations": _relaxations(found, units),
    }


def why_none(found: PlannedProfile) -> list[str]:
    """Why there is no profile, in sentences; none where there is one.

    Parameters
    ----------
    found : PlannedProfile
    """
    if found.rods is not None:
        return []
    if found.conflict is None or found.demands is None:
        return [NOT_FOUND]
    return conflict_sentences(found.demands, found.conflict, found.inputs.job.show_units)


def bound_sentence(no_margin_above_m: float, show_units: str) -> str:
    """What margin is proven to be out of reach.

    Parameters
    ----------
    no_margin_above_m : float
    show_units : str
    """
    most = format_length(no_margin_above_m, show_units, "up")
    return (
        f"No profile within these limits can miss every line of known depth by {most} more than is required."
    )


def relaxation_sentences(found: PlannedProfile) -> list[str]:
    """What would make a profile possible, the cheapest first.

    Parameters
    ----------
    found : PlannedProfile
    """
    if found.demands is None:
        return []
    units = found.inputs.job.show_units
    return [relaxation_sentence(found.demands, one, units) for one in found.relaxations]


def _relaxations(found: PlannedProfile, units: str) -> list[dict[str, Any]]:
    if found.demands is None:
        return []
    return [
        {
            "kind": str(one.kind),
            "back_m": one.back_m,
            "bend_radius_m": one.bend_radius_m,
            "mark_refs": [line.mark.ref for line in one.lines],
            "limit": None if one.eased is None else str(one.eased.demand),
            "by_m": None if one.eased is None else one.eased.by_m,
            "by_ratio": None if one.eased is None else one.eased.by_ratio,
            "sentence": plain_minus(relaxation_sentence(found.demands, one, units)),
        }
        for one in found.relaxations
    ]


def _rods(found: PlannedProfile, rods: RodProfile) -> list[dict[str, Any]]:
    """One member for each rod: where its far end lies, and which lines lie beside it."""
    stations, elevations = rods.joints_m()
    pitches = np.tan(rods.angles_rad)
    ground = found.ground.at(stations)
    return [
        {
            "rod": number,
            "length_m": float(rods.lengths_m[number - 1]),
            "station_m": float(stations[number]),
            "elevation_m": float(elevations[number]),
            "depth_m": float(ground[number] - elevations[number]),
            "pitch_ratio": float(pitches[number]),
            "change_ratio": float(pitches[number] - pitches[number - 1]),
            "turn_rad": float(rods.turns_rad[number - 1]),
            "near": _near(found, float(stations[number - 1]), float(stations[number])),
        }
        for number in range(1, len(stations))
    ]


def _near(found: PlannedProfile, first_m: float, last_m: float) -> list[str]:
    """Names of the lines whose crossing points lie on a rod."""
    return [
        line_name(one.mark.operator, one.mark.ref)
        for one in found.crossings
        if first_m <= one.clearance.station_m + found.entry_m < last_m
    ]


def _crossing(found: PlannedProfile, one: FoundCrossing) -> dict[str, Any]:
    figures = one.clearance
    return {
        "mark_ref": one.mark.ref,
        "operator": one.mark.operator,
        "kind": figures.kind,
        "station_m": figures.station_m + found.entry_m,
        "passes": figures.passes,
        "worst_case_m": figures.worst_case_m,
        "required_m": one.required_m,
        "margin_m": margin_of(one),
        "verdict": str(one.verdict),
    }


def profile_text(document: dict[str, Any], show_units: str) -> str:
    """The document in words and a table for a terminal of 100 columns.

    Parameters
    ----------
    document : dict
        From `profile_document`.
    show_units : str
        "feet" or "metric".
    """
    lines = [f"{document['job']} / {document['bore']}", ""]
    for sentence in document["why_none"] + document["profile_faults"]:
        lines += textwrap.wrap(sentence, COLUMNS)
    if document["relaxations"]:
        lines += ["", "What would make a profile possible, the cheapest first:"]
    for one in document["relaxations"]:
        lines += textwrap.wrap(one["sentence"], COLUMNS, initial_indent="- ", subsequent_indent="  ")
    if document["found"]:
        lines += [*_summary(document, show_units), "", *_table(document["rods"], show_units), ""]
        lines += _crossings(document["crossings"], show_units)
    lines += ["", f"Inputs {document['inputs_digest'][:16]}", *textwrap.wrap(CAUTIONS, COLUMNS)]
    return plain_minus("\n".join(lines))


def _summary(document: dict[str, Any], show_units: str) -> list[str]:
    margin = document["least_margin_m"]
    words = (
        "No line of known depth comes near."
        if margin is None
        else f"Every line of known depth is missed by {format_length(margin, show_units, 'down')} or more "
        "above what is required, in the worst case."
    )
    if document["no_margin_above_m"] is not None:
        words += f" {bound_sentence(document['no_margin_above_m'], show_units)}"
    entry = document["entry_station_m"]
    if entry:
        side = "behind" if entry < 0.0 else "after"
        words += f" The rig stands {format_length(abs(entry), show_units)} {side} the recorded entry."
    rods = document["rods"]
    words += f" {len(rods)} rods, {format_length(document['length_m'], show_units)}."
    return textwrap.wrap(words, COLUMNS)


def _table(rods: list[dict[str, Any]], show_units: str) -> list[str]:
    rows = [HEADER, tuple("-" * width for width in WIDTHS)]
    for one in rods:
        near = ", ".join(one["near"])
        rows.append(
            (
                str(one["rod"]),
                format_station(one["station_m"], show_units),
                format_length(one["depth_m"], show_units),
                format_grade(one["pitch_ratio"]),
                format_grade(one["change_ratio"]),
                near if len(near) <= WIDTHS[-1] else f"{near[: WIDTHS[-1] - 2]}..",
            )
        )
    return [
        " ".join(f"{cell:<{width}}" for cell, width in zip(row, WIDTHS, strict=True)).rstrip() for row in rows
    ]


def _crossings(crossings: list[dict[str, Any]], show_units: str) -> list[str]:
    """What each line is passed by, the least margin first."""
    order = sorted(crossings, key=lambda one: -np.inf if one["margin_m"] is None else one["margin_m"])
    found = []
    for one in order:
        name = line_name(one["operator"], one["mark_ref"])
        where = f"{format_station(one['station_m'], show_units)} {name}, {one['kind']}"
        if one["margin_m"] is None:
            words = f"{where}: depth unknown; expose it before anything is drilled."
        else:
            worst = format_length(one["worst_case_m"], show_units, "down")
            required = format_length(one["required_m"], show_units, "up")
            words = (
                f"{where}: passes {one['passes']}, worst case {worst}, required {required}, {one['verdict']}."
            )
        found += textwrap.wrap(words, COLUMNS, initial_indent="- ", subsequent_indent="  ")
    return found
