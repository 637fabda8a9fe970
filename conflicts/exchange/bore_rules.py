"""What the members of one bore must say together."""

from collections.abc import Iterable, Iterator
from typing import Any

from locates.errors import JobFileError
from locates.exchange.positions import IndexedFeature
from locates.exchange.record_rules import date_order_fault
from locates.exchange.whereabouts import Path, error_at, show


def bore_faults(document: Any, features: Iterable[IndexedFeature]) -> Iterator[JobFileError]:
    """Members of a bore that contradict or need each other.

    Parameters
    ----------
    document : object
        The file as read.
    features : iterable of (index, feature)
        Features of sound form.

    Yields
    ------
    JobFileError
        Not one of profile and rods, a pilot wider than the finished hole, stations that do not increase,
        joints without length, limits or dates out of order.
    """
    for index, feature in features:
        bore = feature["properties"]
        if bore["kind"] != "bore":
            continue
        path: Path = ("features", index, "properties")
        if ("profile" in bore) == ("rods" in bore):
            found = "both profile and rods" if "profile" in bore else "neither profile nor rods"
            yield error_at(document, path, found=found, accepted="one of the two")
        if bore.get("pilot_diameter_m", 0) > bore["final_diameter_m"]:
            yield error_at(
                document,
                (*path, "pilot_diameter_m"),
                found=show(bore["pilot_diameter_m"]),
                accepted=f"at most the final_diameter_m, {bore['final_diameter_m']:g}",
            )
        if "ground" in bore:
            yield from _stations(document, bore["ground"], (*path, "ground"))
        if "profile" in bore:
            yield from _profile(document, bore["profile"]["vertices"], (*path, "profile", "vertices"))
        if "rods" in bore:
            yield from _joints(document, bore["rods"]["joints"], (*path, "rods", "joints"))
        yield from _rig(document, bore.get("rig", {}), (*path, "rig"))
        yield from date_order_fault(document, bore, path, "planned_start_at", "planned_finish_at")


def _profile(document: Any, vertices: list[list[float]], path: Path) -> Iterator[JobFileError]:
    if vertices[0][0] != 0:
        found = f"a first station of {vertices[0][0]:g} m"
        yield error_at(document, (*path, 0, 0), found=found, accepted="0, the entry point")
    yield from _stations(document, vertices, path)


def _stations(document: Any, vertices: list[list[float]], path: Path) -> Iterator[JobFileError]:
    for place in range(1, len(vertices)):
        before, station = vertices[place - 1][0], vertices[place][0]
        if station <= before:
            yield error_at(
                document,
                (*path, place, 0),
                found=f"station {station!r} m after station {before!r} m",
                accepted="stations that increase from each vertex to the next",
            )


def _joints(document: Any, joints: list[dict[str, float]], path: Path) -> Iterator[JobFileError]:
    for place, joint in enumerate(joints):
        if (place == 0) != (joint["length_m"] == 0):
            accepted = "a length greater than 0" if place else "0: the first joint is the entry point"
            yield error_at(
                document, (*path, place, "length_m"), found=show(joint["length_m"]), accepted=accepted
            )


def _rig(document: Any, rig: dict[str, float], path: Path) -> Iterator[JobFileError]:
    for end in ("entry", "exit"):
        least, greatest = f"{end}_pitch_ratio_min", f"{end}_pitch_ratio_max"
        if least in rig and greatest in rig and rig[least] > rig[greatest]:
            yield error_at(
                document,
                (*path, least),
                found=show(rig[least]),
                accepted=f"at most the {greatest}, {rig[greatest]:g}",
            )
