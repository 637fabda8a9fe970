"""Bores and pits, from the job file's document to records and back."""

from typing import Any

from conflicts.alignment import alignment_length_m
from conflicts.models import Bore, Pit
from locates.exchange.job_documents import feature, known, when
from locates.exchange.job_records import (
    Properties,
    Records,
    features_of,
    geometry,
    identifier,
    moment,
    number,
)
from locates.models import Job

RIG_MEMBERS = (
    "rod_length_m",
    "bend_radius_m",
    "entry_pitch_ratio_min",
    "entry_pitch_ratio_max",
    "exit_pitch_ratio_min",
    "exit_pitch_ratio_max",
    "minimum_cover_m",
)


def bore_records(job: Job, document: Properties) -> Records:
    """The bores and their pits, not saved yet."""
    bores = {one["properties"]["name"]: _bore(job, one) for one in features_of(document, "bore")}
    pits = [
        Pit(
            id=identifier(pit),
            bore=bores[pit["properties"]["bore_name"]],
            end=pit["properties"]["end"],
            depth_m=number(pit["properties"], "depth_m"),
            area=geometry(pit),
        )
        for pit in features_of(document, "pit")
    ]
    return {Bore: list(bores.values()), Pit: pits}


def bore_features(job: Job) -> list[Properties]:
    """Features of the bores by name, then of their pits by bore and end."""
    bores = sorted(job.bores.prefetch_related("pits"), key=lambda one: one.name)
    pits = [(bore, pit) for bore in bores for pit in sorted(bore.pits.all(), key=lambda one: one.end)]
    return [*(feature_of_bore(bore) for bore in bores), *(feature_of_pit(bore, pit) for bore, pit in pits)]


def feature_of_bore(bore: Bore) -> Properties:
    """The feature of one bore, which need not be stored."""
    return feature(bore, bore.alignment, {
        "kind": "bore",
        "name": bore.name,
        "pilot_diameter_m": bore.pilot_diameter_m,
        "final_diameter_m": bore.final_diameter_m,
        "product": bore.product,
        "ground": _pairs(bore.ground_stations_m, bore.ground_elevations_m),
        "profile": _profile(bore),
        "rods": _rods(bore),
        "rig": known({name: getattr(bore, name) for name in RIG_MEMBERS}),
        "planned_start_at": when(bore.planned_start_at),
        "planned_finish_at": when(bore.planned_finish_at),
    })  # fmt: skip


def feature_of_pit(bore: Bore, pit: Pit) -> Properties:
    """The feature of one pit of a bore, which need not be stored."""
    return feature(pit, pit.area, {
        "kind": "pit",
        "bore_name": bore.name,
        "end": pit.end,
        "depth_m": pit.depth_m,
    })  # fmt: skip


def _bore(job: Job, bore_feature: Properties) -> Bore:
    properties = bore_feature["properties"]
    ground = properties.get("ground", [])
    profile = properties.get("profile", {"by": "", "vertices": []})
    rods = properties.get("rods", {"joints": []})
    rig = properties.get("rig", {})
    return Bore(
        id=identifier(bore_feature),
        job=job,
        name=properties["name"],
        alignment=geometry(bore_feature),
        alignment_length_m=alignment_length_m(bore_feature["geometry"]["coordinates"], job.mean_height_m),
        pilot_diameter_m=number(properties, "pilot_diameter_m"),
        final_diameter_m=float(properties["final_diameter_m"]),
        product=properties.get("product", ""),
        ground_stations_m=[float(station) for station, _ in ground],
        ground_elevations_m=[float(elevation) for _, elevation in ground],
        profile_by=profile["by"],
        profile_stations_m=[float(station) for station, _ in profile["vertices"]],
        profile_values_m=[float(value) for _, value in profile["vertices"]],
        rods_entry_elevation_m=number(rods, "entry_elevation_m"),
        rod_lengths_m=[float(joint["length_m"]) for joint in rods["joints"]],
        rod_pitches_ratio=[float(joint["pitch_ratio"]) for joint in rods["joints"]],
        rod_headings_rad=[number(joint, "heading_rad") for joint in rods["joints"]],
        planned_start_at=moment(properties, "planned_start_at"),
        planned_finish_at=moment(properties, "planned_finish_at"),
        **{name: number(rig, name) for name in RIG_MEMBERS},
    )


def _profile(bore: Bore) -> Properties | None:
    if not bore.profile_by:
        return None
    return {"by": bore.profile_by, "vertices": _pairs(bore.profile_stations_m, bore.profile_values_m)}


def _rods(bore: Bore) -> Properties | None:
    if bore.rods_entry_elevation_m is None:
        return None
    joints = zip(bore.rod_lengths_m, bore.rod_pitches_ratio, bore.rod_headings_rad, strict=True)
    return {
        "entry_elevation_m": bore.rods_entry_elevation_m,
        "joints": [
            known({"length_m": length_m, "pitch_ratio": pitch_ratio, "heading_rad": heading_rad})
            for length_m, pitch_ratio, heading_rad in joints
        ],
    }


def _pairs(stations_m: list[float], values_m: list[float]) -> list[list[Any]]:
    return [list(pair) for pair in zip(stations_m, values_m, strict=True)]
