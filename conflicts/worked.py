"""The figures of a crossing with their sums: each formula in words, and filled in with the numbers."""

from dataclasses import dataclass

from conflicts.crossings import FoundCrossing
from conflicts.engine.terms import Worst
from conflicts.inputs import JobInput
from conflicts.sentences import station_words
from locates.units import format_length, format_station, format_worked


@dataclass(frozen=True)
class Worked:
    """A figure with its sum.

    Attributes
    ----------
    name, result : str
    formula : str
        In words; empty where the note says all.
    filled : str
        The formula with the numbers of this crossing.
    note : str
        Where the terms are from.
    """

    name: str
    result: str
    formula: str = ""
    filled: str = ""
    note: str = ""


@dataclass(frozen=True)
class _Pen:
    """Writes the lengths of one crossing in the units of its job."""

    units: str

    def term(self, length_m: float | None) -> str:
        """A length as a term of a sum."""
        return format_worked(length_m, self.units)

    def length(self, length_m: float | None) -> str:
        """A length to the nearest step."""
        return format_length(length_m, self.units)

    def clearance(self, length_m: float | None) -> str:
        """A length that must be large enough."""
        return format_length(length_m, self.units, "down")

    def needed(self, length_m: float | None) -> str:
        """A length that has to be reached, or that is lost."""
        return format_length(length_m, self.units, "up")

    def less(self, first_m: float, *others_m: float) -> str:
        """A difference with its result."""
        rest = " \N{MINUS SIGN} ".join(self.term(one) for one in (first_m, *others_m))
        return f"{rest} = {self.term(first_m - sum(others_m))}"


def worked_figures(found: FoundCrossing, job: JobInput) -> list[Worked]:
    """Every figure of a crossing, in the order in which they follow from each other.

    Parameters
    ----------
    found : FoundCrossing
    job : JobInput
        Of the crossing's bore.
    """
    pen = _Pen(job.show_units)
    figures = [*_plan_figures(found, job, pen), *_height_figures(found, pen)]
    if found.clearance.worst is not None:
        figures += _error_figures(found, found.clearance.worst, job, pen)
        figures += _least_figures(found, found.clearance.worst, pen)
    return [*figures, _required(found, pen)]


def _plan_figures(found: FoundCrossing, job: JobInput, pen: _Pen) -> list[Worked]:
    clearance, sizes = found.clearance, found.clearance.sizes
    zone_m = job.tolerance_zone_m + sizes.bore_radius_m + sizes.line_plan_radius_m
    ends = " to ".join(format_station(at, pen.units) for at in (clearance.from_m, clearance.to_m))
    terms = " + ".join(
        pen.term(one) for one in (job.tolerance_zone_m, sizes.bore_radius_m, sizes.line_plan_radius_m)
    )
    meets = "cross" if clearance.kind == "crossing" else "come closest, and do not cross,"
    plan_m = clearance.meeting.plan_distance_m
    return [
        Worked(
            "Extent",
            f"station {ends}",
            "all stations where the centre lines are no farther apart in plan than the tolerance zone + the "
            "radius of the hole + half of the line\N{RIGHT SINGLE QUOTATION MARK}s width",
            f"{terms} = {pen.term(zone_m)}",
        ),
        Worked(
            "Crossing point",
            station_words(clearance.station_m, pen.units),
            note=f"Where the centre lines {meets} in plan, {pen.term(plan_m)} apart.",
        ),
        Worked(
            "Horizontal",
            pen.clearance(clearance.horizontal_m),
            "plan distance of the centre lines \N{MINUS SIGN} radius of the hole \N{MINUS SIGN} half of the "
            "line\N{RIGHT SINGLE QUOTATION MARK}s width, and not below 0",
            pen.less(plan_m, sizes.bore_radius_m, sizes.line_plan_radius_m),
        ),
    ]


def _height_figures(found: FoundCrossing, pen: _Pen) -> list[Worked]:
    clearance, sizes, meeting = found.clearance, found.clearance.sizes, found.clearance.meeting
    nearest = clearance.nearest
    if meeting.line_elevation_m is None or nearest is None:
        why = "No test hole has found the line: its depth is unknown, and so is this."
        names = ("Vertical", "Separation", "Worst case", "Likely")
        return [Worked(name, pen.clearance(None), note=why) for name in names]
    apart_m = abs(meeting.bore_elevation_m - meeting.line_elevation_m)
    heights = (
        f"The bore passes {clearance.passes} the line. Centre of the hole at elevation "
        f"{pen.length(meeting.bore_elevation_m)}, of the line at {pen.length(meeting.line_elevation_m)}."
    )
    return [
        Worked(
            "Vertical",
            pen.clearance(clearance.vertical_m),
            "height between the centres at the crossing point \N{MINUS SIGN} radius of the hole "
            "\N{MINUS SIGN} half of the line\N{RIGHT SINGLE QUOTATION MARK}s height",
            pen.less(apart_m, sizes.bore_radius_m, sizes.line_half_height_m),
            heights,
        ),
        Worked(
            "Separation",
            pen.clearance(clearance.separation_m),
            "least distance of the centre lines in space \N{MINUS SIGN} radius of the hole "
            f"\N{MINUS SIGN} {_radius_words(found)}",
            pen.less(nearest.centre_distance_m, sizes.bore_radius_m, sizes.line_radius_m),
            f"At {station_words(nearest.station_m, pen.units)}. Negative: the bodies overlap.",
        ),
    ]


def _radius_words(found: FoundCrossing) -> str:
    if found.line.line.size.is_duct_bank:
        return "radius of the circle round the duct bank"
    return "radius of the line"


def _error_figures(found: FoundCrossing, worst: Worst, job: JobInput, pen: _Pen) -> list[Worked]:
    hole = found.line.found[worst.hole]
    away = pen.term(worst.hole_away_m)
    if worst.hole_is_in_reach:
        level = f"test hole {hole.ref}, {away} along the line from there and within the expose reach"
    elif found.mark.horizontal_accuracy_m is not None:
        level = (
            f"the accuracy that the mark states, since the nearest test hole is {away} away along the line"
        )
    else:
        level = f"the tolerance zone, since the nearest test hole is {away} away along the line"
    slope_m = job.slope_ratio * worst.hole_away_m
    return [
        Worked(
            "Error of the bore",
            f"{pen.needed(worst.bore_horizontal_m)} in plan, {pen.needed(worst.bore_vertical_m)} in height",
            note="The job\N{RIGHT SINGLE QUOTATION MARK}s allowances for steering a planned bore.",
        ),
        Worked(
            "Error of the line",
            f"{pen.needed(worst.line_horizontal_m)} in plan, {pen.needed(worst.line_vertical_m)} in height",
            "in height: error of the nearest test hole + slope allowance \N{MULTIPLICATION SIGN} distance to "
            "it along the line",
            f"{pen.term(worst.hole_error_m)} + {job.slope_ratio:g} \N{MULTIPLICATION SIGN} {away} = "
            f"{pen.term(worst.hole_error_m + slope_m)}",
            f"In plan: {level}.",
        ),
    ]


def _least_figures(found: FoundCrossing, worst: Worst, pen: _Pen) -> list[Worked]:
    sizes, clearance = found.clearance.sizes, found.clearance
    level_m = worst.bore_horizontal_m + worst.line_horizontal_m
    plumb_m = worst.bore_vertical_m + worst.line_vertical_m
    times, root = "\N{MULTIPLICATION SIGN}", "\N{SQUARE ROOT}"
    start = f"{pen.term(worst.centre_distance_m)} \N{MINUS SIGN} {pen.term(sizes.bore_radius_m)} "
    start += f"\N{MINUS SIGN} {pen.term(sizes.line_radius_m)} \N{MINUS SIGN} "
    shares = f"{worst.level_share:.4f} of what is in plan and {worst.plumb_share:.4f} of what is in height"
    if worst.touches:
        loss_words = "root of the sum of the squares of the errors in plan and those in height"
        loss = f"{root}(({pen.term(level_m)})\N{SUPERSCRIPT TWO} + ({pen.term(plumb_m)})\N{SUPERSCRIPT TWO})"
    else:
        loss_words = "errors in plan \N{MULTIPLICATION SIGN} their share + errors in height "
        loss_words += "\N{MULTIPLICATION SIGN} their share"
        loss = f"({pen.term(level_m)} {times} {worst.level_share:.4f} + "
        loss += f"{pen.term(plumb_m)} {times} {worst.plumb_share:.4f})"
    squares = " + ".join(
        f"({pen.term(error)} {times} {share:.4f})\N{SUPERSCRIPT TWO}"
        for error, share in (
            (worst.bore_horizontal_m, worst.level_share),
            (worst.line_horizontal_m, worst.level_share),
            (worst.bore_vertical_m, worst.plumb_share),
            (worst.line_vertical_m, worst.plumb_share),
        )
    )
    before = "distance of the centres \N{MINUS SIGN} both radii \N{MINUS SIGN} "
    return [
        Worked(
            "Worst case",
            pen.clearance(clearance.worst_case_m),
            f"{before}({loss_words})",
            f"{start}{loss} = {pen.term(clearance.worst_case_m)}",
            f"Where that is least, at {station_words(worst.station_m, pen.units)}. Of the errors of bore and "
            f"line together {shares} acts along the way from one to the other.",
        ),
        Worked(
            "Likely",
            pen.clearance(clearance.likely_m),
            f"{before}root of the sum of the squares of the shares of the four errors",
            f"{start}{root}({squares}) = {pen.term(clearance.likely_m)}",
            "At the same point. It decides nothing.",
        ),
    ]


def _required(found: FoundCrossing, pen: _Pen) -> Worked:
    requirement, kind = found.asked.requirement, found.clearance.kind
    if requirement is None:
        source = "no requirement of the job fits: the program\N{RIGHT SINGLE QUOTATION MARK}s own default"
    elif requirement.operator and requirement.facility_type:
        source = (
            f"the job\N{RIGHT SINGLE QUOTATION MARK}s requirement for this type of {requirement.operator}"
        )
    elif requirement.operator:
        source = f"the job\N{RIGHT SINGLE QUOTATION MARK}s requirement for {requirement.operator}"
    elif requirement.facility_type:
        source = "the job\N{RIGHT SINGLE QUOTATION MARK}s requirement for this facility type"
    else:
        source = "the job\N{RIGHT SINGLE QUOTATION MARK}s requirement for every line"
    return Worked("Required", pen.needed(found.required_m), note=f"For kind {kind}: {source}.")
