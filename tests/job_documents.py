"""A small valid job file in an invented place, as the document that a test then spoils.

A bore of about 60 m runs east; every kind of feature and every optional member stands in it once.
"""

import copy
import json
from typing import Any

from conflicts.engine.frame import frame_about, polyline_length_m

LONGITUDE_DEG, LATITUDE_DEG = -93.5, 39.0
DEGREES_PER_METRE = 1e-5  # near enough for an invented street

TICKET, MARK, WATER_MARK, HOLE, DRY_HOLE, VALVE, GROUND, CURB, BORE, ROD_BORE, PIT = range(11)
"""Indices of the features."""


def place(east: float, north: float) -> list[float]:
    """Position, roughly so many metres from the entry."""
    return [LONGITUDE_DEG + east * DEGREES_PER_METRE, LATITUDE_DEG + north * DEGREES_PER_METRE]


def ring(west: float, south: float, east: float, north: float) -> list[list[float]]:
    """Closed ring of an upright rectangle."""
    corners = [(west, south), (east, south), (east, north), (west, north), (west, south)]
    return [place(*corner) for corner in corners]


def ground_length_m(positions: list[list[float]], mean_height_m: float | None = 247.5) -> float:
    """Length of an alignment alone in its job."""
    return polyline_length_m(frame_about([positions], mean_height_m).to_ground(*zip(*positions, strict=True)))


ALIGNMENT = [place(0, 0), place(40, 0), place(70, 5)]


def feature(kind: str, shape: str, coordinates: Any, **properties: Any) -> dict[str, Any]:
    """A feature without an id."""
    return {
        "type": "Feature",
        "geometry": {"type": shape, "coordinates": coordinates},
        "properties": {"kind": kind, **properties},
    }


def job_document() -> dict[str, Any]:
    """A document that holds nothing wrong, new at each call."""
    return copy.deepcopy(
        {
            "type": "FeatureCollection",
            "schema_version": 1,
            "job": _job(),
            "features": [*_locates(), *_bores()],
        }
    )


def job_bytes(document: Any) -> bytes:
    """The document as a file."""
    return json.dumps(document, allow_nan=True).encode()


def with_id(number: int) -> str:
    """An invented UUID."""
    return f"00000000-0000-4000-8000-{number:012d}"


def _job() -> dict[str, Any]:
    return {
        "name": "Larkspur Lane",
        "organisation": "Quillfeather Boring",
        "jurisdiction": "MO",
        "time_zone": "America/Chicago",
        "mean_height_m": 247.5,
        "datum": "nail in the pole at the corner",
        "show_units": "metric",
        "tolerance_zone_m": 0.6096,
        "expose_reach_m": 1.0,
        "test_hole_spacing_m": 15.24,
        "default_outside_m": {"electric": 0.1, "sewer_drain": 0.35},
        "uncertainty": {
            "bore_horizontal_m": 0.31,
            "bore_vertical_m": 0.16,
            "drilled_fixed_m": 0.06,
            "drilled_depth_ratio": 0.04,
            "test_hole_m": 0.02,
            "slope_ratio": 0.015,
        },
        "requirements": [
            {
                "operator": "Marrow Gas",
                "facility_type": "gas_oil_steam",
                "crossing_m": 0.61,
                "alongside_m": 0.91,
            },
            {"facility_type": "sewer_drain", "crossing_m": 0.457, "alongside_m": 0.457},
            {"crossing_m": 0.3, "alongside_m": 0.6},
        ],
        "operators": [{"name": "Marrow Gas", "emergency_phone": "555-0100", "contact": "night desk"}],
    }


def _locates() -> list[dict[str, Any]]:
    moments = {"called_at": "2026-03-02T14:10:00-06:00", "legal_start_at": "2026-03-05T00:00:00-06:00"}
    return [
        feature(
            "ticket",
            "Polygon",
            [ring(-10, -20, 90, 20)],
            number="T-1001",
            ticket_kind="routine",
            expires_at="2026-03-25T23:59:59-05:00",
            override_reason="holiday of the centre",
            previous_number="T-0900",
            white_lined=True,
            boring_declared=False,
            responses=[
                {"operator": "Marrow Gas", "response": "awaiting"},
                {
                    "operator": "Marrow Gas",
                    "response": "marked",
                    "responded_at": "2026-03-04T09:30:00.250-06:00",
                    "note": "two lines",
                },
                {"operator": "Tallgrass Water", "response": "extension_asked"},
            ],
            **moments,
        ),
        feature(
            "mark",
            "LineString",
            [place(20, -10), place(20.1, 0), place(20.1, 0), place(20.4, 10)],
            ref="G-1",
            operator="Marrow Gas",
            facility_type="gas_oil_steam",
            marked_at="2026-03-04T09:00:00-06:00",
            ticket_number="T-1001",
            stated_width_m=0.114,
            stated_height_m=0.115,
            stated_depth_m=1.1,
            horizontal_accuracy_m=0.45,
            located_by="conductive locate",
            is_intact=True,
            re_marked_at="2026-03-10T08:00:00-05:00",
        ),
        feature(
            "mark",
            "Point",
            place(45, 1),
            ref="W-1",
            operator="Tallgrass Water",
            facility_type="potable_water",
            marked_at="2026-03-04T10:00:00Z",
        ),
        feature(
            "test_hole",
            "Point",
            place(20.2, 0.1),
            ref="TH-1",
            mark_ref="G-1",
            found=True,
            depth_to_top_m=1.219,
            dug_depth_m=1.4,
            outside_width_m=0.1143,
            outside_height_m=0.2,
            ground_elevation_m=100.25,
            material="polyethylene",
            measured_at="2026-03-06T10:00:00-06:00",
            measured_by="A. Foreman",
            measured_how="tape",
            error_m=0.015,
            is_open=True,
            ticket_number="T-1001",
        ),
        feature(
            "test_hole",
            "Point",
            place(45, 1.2),
            ref="TH-2",
            mark_ref="W-1",
            found=False,
            dug_depth_m=2.0,
            measured_at="2026-03-06T11:00:00-06:00",
        ),
        feature(
            "surface_feature",
            "Point",
            place(20, 9),
            ref="V-1",
            feature_type="valve",
            facility_type="gas_oil_steam",
            seen_at="2026-03-01T12:00:00-06:00",
            explained_by_mark_ref="G-1",
            signed_off_reason="checked with the operator",
        ),
        feature("ground_point", "Point", place(30, 0.5), elevation_m=100.125),
        feature(
            "linework", "LineString", [place(-10, 6), place(90, 6)], feature_type="curb", label="north curb"
        ),
    ]


def _bores() -> list[dict[str, Any]]:
    frame = frame_about([ALIGNMENT, ROD_ALIGNMENT], 247.5)
    length_m = polyline_length_m(frame.to_ground(*zip(*ALIGNMENT, strict=True)))
    return [
        feature(
            "bore",
            "LineString",
            ALIGNMENT,
            name="B-1",
            pilot_diameter_m=0.1016,
            final_diameter_m=0.2032,
            product="two 4 in conduits",
            ground=[[0, 100], [30.5, 100.125], [80, 101.5]],
            profile={"by": "depth", "vertices": [[0, 0], [15.5, 2.25], [length_m, 0.75]]},
            rig={
                "rod_length_m": 3.048,
                "bend_radius_m": 30.48,
                "entry_pitch_ratio_min": -0.3,
                "entry_pitch_ratio_max": -0.1,
                "exit_pitch_ratio_min": 0.05,
                "exit_pitch_ratio_max": 0.25,
                "minimum_cover_m": 0.9,
            },
            planned_start_at="2026-03-11T08:00:00-05:00",
            planned_finish_at="2026-03-12T17:00:00-05:00",
        ),
        feature(
            "bore",
            "LineString",
            ROD_ALIGNMENT,
            name="B-2",
            final_diameter_m=0.15,
            rods={
                "entry_elevation_m": 100.0,
                "joints": [
                    {"length_m": 0, "pitch_ratio": -0.15},
                    {"length_m": 3.0, "pitch_ratio": -0.05},
                    {"length_m": 3.0, "pitch_ratio": 0.05, "heading_rad": 1.5708},
                    {"length_m": 3.0, "pitch_ratio": 0.1},
                ],
            },
        ),
        feature("pit", "Polygon", [ring(-1, -1, 1, 1)], bore_name="B-1", end="entry", depth_m=1.2),
    ]


ROD_ALIGNMENT = [place(0, 4), place(9, 4)]
