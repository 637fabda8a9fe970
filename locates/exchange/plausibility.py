"""Figures that are too large for what they describe: most often feet or inches written as metres."""

from collections.abc import Iterable, Iterator
from typing import Any

from locates.errors import JobFileError
from locates.exchange.positions import IndexedFeature
from locates.exchange.whereabouts import Path, error_at
from locates.line_words import LINE_WORDS
from locates.units import METRES_PER_FOOT, METRES_PER_INCH

# Common practice, no source: each is generous for real work, and below what the same figure in feet or
# inches comes to.
DEEPEST_LINE_M = 6.0
DEEPEST_SEWER_M = 15.0  # sewers run by gravity; a line of unknown type may be one
LARGEST_OUTSIDE_M = 5.0
WIDEST_TOLERANCE_ZONE_M = 10.0
LARGEST_REQUIREMENT_M = 10.0
FARTHEST_REACH_M = 30.0
LOWEST_GROUND_M, HIGHEST_GROUND_M = -1000.0, 9000.0

_SEWER_TYPES = frozenset({"sewer_drain", "unknown"})


def plausibility_faults(document: Any, features: Iterable[IndexedFeature]) -> Iterator[JobFileError]:
    """Depths, sizes and heights that no line has.

    Parameters
    ----------
    document : object
        The file as read.
    features : iterable of (index, feature)
        Features of sound form.

    Yields
    ------
    JobFileError
        Asking "feet or inches?" with both conversions.
    """
    indexed = [(index, feature["properties"]) for index, feature in features]
    types = {
        properties["ref"]: properties["facility_type"]
        for _, properties in indexed
        if properties["kind"] == "mark"
    }
    for index, properties in indexed:
        path: Path = ("features", index, "properties")
        if properties["kind"] == "mark":
            yield from _depths(document, properties, path, properties["facility_type"], ("stated_depth_m",))
            yield from _sizes(document, properties, path, ("stated_width_m", "stated_height_m"))
        elif properties["kind"] == "test_hole":
            facility_type = types.get(properties.get("mark_ref", ""), "unknown")
            yield from _depths(document, properties, path, facility_type, ("depth_to_top_m", "dug_depth_m"))
            yield from _sizes(document, properties, path, ("outside_width_m", "outside_height_m"))
            yield from height_fault(document, properties, path, "ground_elevation_m")
        elif properties["kind"] == "ground_point":
            yield from height_fault(document, properties, path, "elevation_m")


def job_plausibility_faults(document: Any) -> Iterator[JobFileError]:
    """Widths, sizes and heights that no job has.

    Parameters
    ----------
    document : object
        The file as read, whose job the schema accepts.

    Yields
    ------
    JobFileError
        Asking "feet or inches?" with both conversions.
    """
    job = document["job"]
    yield from too_large(
        document, job, ("job",), "tolerance_zone_m", WIDEST_TOLERANCE_ZONE_M, "a tolerance zone"
    )
    yield from too_large(document, job, ("job",), "expose_reach_m", FARTHEST_REACH_M, "an expose reach")
    yield from height_fault(document, job, ("job",), "mean_height_m")
    sizes = job.get("default_outside_m", {})
    for name in sizes:
        yield from too_large(
            document, sizes, ("job", "default_outside_m"), name, LARGEST_OUTSIDE_M, "an outside size"
        )
    for place, requirement in enumerate(job.get("requirements", [])):
        for member in ("crossing_m", "alongside_m"):
            path: Path = ("job", "requirements", place)
            yield from too_large(
                document, requirement, path, member, LARGEST_REQUIREMENT_M, "a required separation"
            )


def too_large(
    document: Any, record: Any, path: Path, member: str | int, largest_m: float, what: str
) -> Iterator[JobFileError]:
    """A length beyond what it can be.

    Parameters
    ----------
    document : object
        The file as read.
    record : dict or list
        What holds the length; the member may be absent.
    path : tuple
        Where the record is.
    member : str or int
        Member or index of the length.
    largest_m : float
        Largest length that is taken as meant.
    what : str
        What it describes, with its article.

    Yields
    ------
    JobFileError
        Asking "feet or inches?" with both conversions.
    """
    length_m = _given(record, member)
    if length_m is not None and length_m > largest_m:
        yield error_at(
            document,
            (*path, member),
            found=f"{length_m:g}, {what} of {length_m:g} m: feet or inches? {conversions(length_m)}",
            accepted=f"a number of metres, here at most {largest_m:g}",
        )


def conversions(number: float) -> str:
    """What a number comes to in metres if it was meant in inches or in feet.

    Parameters
    ----------
    number : float
        As the file has it.

    Returns
    -------
    str
        Such as ``55 in = 1.397 m, 55 ft = 16.764 m``.
    """
    in_inches, in_feet = number * METRES_PER_INCH, number * METRES_PER_FOOT
    return f"{number:g} in = {in_inches:.3f} m, {number:g} ft = {in_feet:.3f} m"


def height_fault(document: Any, record: Any, path: Path, member: str | int) -> Iterator[JobFileError]:
    """A height or elevation where there is no ground.

    Parameters
    ----------
    document : object
        The file as read.
    record : dict or list
        What holds the height; the member may be absent.
    path : tuple
        Where the record is.
    member : str or int
        Member or index of the height.

    Yields
    ------
    JobFileError
    """
    height_m = _given(record, member)
    if height_m is not None and not LOWEST_GROUND_M <= height_m <= HIGHEST_GROUND_M:
        in_feet = f"{height_m:g} ft = {height_m * METRES_PER_FOOT:.3f} m"
        yield error_at(
            document,
            (*path, member),
            found=f"{height_m:g}, where there is no ground: feet? {in_feet}",
            accepted=f"a number of metres from {LOWEST_GROUND_M:g} to {HIGHEST_GROUND_M:g}",
        )


def _given(record: Any, member: str | int) -> float | None:
    if isinstance(record, dict):
        return record.get(member)
    return float(record[int(member)])


def _depths(
    document: Any, properties: dict[str, Any], path: Path, facility_type: str, members: tuple[str, ...]
) -> Iterator[JobFileError]:
    deepest_m = DEEPEST_SEWER_M if facility_type in _SEWER_TYPES else DEEPEST_LINE_M
    for member in members:
        what = f"{LINE_WORDS[facility_type]} at a depth"
        yield from too_large(document, properties, path, member, deepest_m, what)


def _sizes(
    document: Any, properties: dict[str, Any], path: Path, members: tuple[str, ...]
) -> Iterator[JobFileError]:
    for member in members:
        yield from too_large(document, properties, path, member, LARGEST_OUTSIDE_M, "an outside size")
