"""Bores and pits of a job file: what they must say, and where they must end."""

import math

import pytest

from conflicts.exchange.bore_plausibility import bore_plausibility_faults
from conflicts.exchange.bore_rules import bore_faults
from conflicts.exchange.bores_in_file import bore_length_faults, bore_reference_faults
from locates.errors import JobFileError
from locates.exchange.job_file import read_job_file
from tests.job_documents import (
    ALIGNMENT,
    BORE,
    DEGREES_PER_METRE,
    GROUND,
    PIT,
    ROD_BORE,
    job_bytes,
    job_document,
    place,
)


def read(document):
    return read_job_file(
        job_bytes(document),
        meaning_rules=(bore_faults, bore_plausibility_faults),
        file_rules=(bore_reference_faults, bore_length_faults),
    )


def refusal(document):
    with pytest.raises(JobFileError) as refused:
        read(document)
    return refused.value


def changed(index, **members):
    document = job_document()
    document["features"][index]["properties"] |= members
    return document


def bore_length_m():
    return job_document()["features"][BORE]["properties"]["profile"]["vertices"][-1][0]


def with_vertices(*vertices, by="depth", ground=None):
    document = changed(BORE, profile={"by": by, "vertices": [list(vertex) for vertex in vertices]})
    if ground is None:
        del document["features"][BORE]["properties"]["ground"]
    else:
        document["features"][BORE]["properties"]["ground"] = ground
    return document


def with_joints(*joints):
    joints = [dict(zip(("length_m", "pitch_ratio", "heading_rad"), joint, strict=False)) for joint in joints]
    return changed(ROD_BORE, rods={"entry_elevation_m": 100, "joints": joints})


def test_both_profile_and_rods_are_refused():
    rods = job_document()["features"][ROD_BORE]["properties"]["rods"]
    refused = refusal(changed(BORE, rods=rods))
    assert (refused.feature, refused.found, refused.accepted) == (
        BORE,
        "both profile and rods",
        "one of the two",
    )


def test_neither_profile_nor_rods_is_refused():
    document = job_document()
    del document["features"][BORE]["properties"]["profile"]
    assert refusal(document).found == "neither profile nor rods"


def test_a_pilot_wider_than_the_finished_hole_is_refused():
    refused = refusal(changed(BORE, pilot_diameter_m=0.21))
    assert (refused.field, refused.accepted) == (
        "properties.pilot_diameter_m",
        "at most the final_diameter_m, 0.2032",
    )
    assert read(changed(BORE, pilot_diameter_m=0.2032))


def test_a_profile_that_runs_backwards_is_refused_saying_where():
    refused = refusal(with_vertices((0, 0), (20, 2), (19.5, 2), (bore_length_m(), 0)))
    assert (refused.feature, refused.field) == (BORE, "properties.profile.vertices[2][0]")
    assert refused.found == "station 19.5 m after station 20 m"


def test_a_profile_that_stands_still_is_refused():
    assert "increase" in refusal(with_vertices((0, 0), (20, 2), (20, 3), (bore_length_m(), 0))).accepted


def test_a_profile_that_starts_inside_is_refused():
    refused = refusal(with_vertices((1, 0), (bore_length_m(), 0)))
    assert (refused.field, refused.found) == ("properties.profile.vertices[0][0]", "a first station of 1 m")


@pytest.mark.parametrize(
    ("off_m", "words"),
    [
        (-5.0, "stops short of the alignment's end by 5.000 m"),
        (-0.0101, "stops short of the alignment's end by 0.010 m"),
        (3.25, "runs over the alignment's end by 3.250 m"),
    ],
)
def test_a_profile_that_stops_short_or_runs_over_is_refused_with_the_difference(off_m, words):
    refused = refusal(with_vertices((0, 0), (bore_length_m() + off_m, 0)))
    assert (refused.feature, refused.field) == (BORE, "properties.profile.vertices[1][0]")
    assert words in refused.found
    assert f"the alignment's length on the ground, {bore_length_m():.3f} m, within 1 cm" in refused.accepted


@pytest.mark.parametrize("off_m", [-0.0099, 0.0099])
def test_a_profile_within_a_centimetre_of_the_end_is_accepted(off_m):
    assert read(with_vertices((0, 0), (bore_length_m() + off_m, 0)))


def test_ground_that_runs_backwards_is_refused():
    refused = refusal(changed(BORE, ground=[[0, 0], [10, 1], [10, 2]]))
    assert refused.field == "properties.ground[2][0]"


def test_a_first_joint_with_a_length_is_refused():
    refused = refusal(with_joints((3, -0.1), (3, 0), (3, 0.1)))
    assert (refused.field, refused.found) == ("properties.rods.joints[0].length_m", "3")


def test_a_later_joint_without_a_length_is_refused():
    refused = refusal(with_joints((0, -0.1), (3, 0), (0, 0.1), (6, 0)))
    assert (refused.field, refused.accepted) == (
        "properties.rods.joints[2].length_m",
        "a length greater than 0",
    )


@pytest.mark.parametrize(
    ("joints", "words"),
    [
        (((0, 0), (1, 0), (1, 0)), "stops short of the alignment's end by 5.79"),
        (((0, 0), *[(3, 0)] * 4, (3, 0), (3, 0)), "runs over the alignment's end by 10.2"),
    ],
)
def test_rods_that_end_more_than_a_rod_from_the_end_are_refused(joints, words):
    refused = refusal(with_joints(*joints))
    assert (refused.feature, refused.field) == (ROD_BORE, "properties.rods.joints")
    assert words in refused.found
    assert "within a rod" in refused.accepted


def test_rods_that_end_within_a_rod_of_the_end_are_accepted():
    assert read(with_joints((0, 0), (3, 0), (3, 0)))
    assert read(with_joints((0, 0), *[(2.5, 0)] * 4))


def test_rods_of_the_right_length_in_another_direction_are_refused():
    west = 1.5 * math.pi
    refused = refusal(with_joints((0, 0, west), *[(2.6, 0, west)] * 3))
    assert "m from the alignment's end" in refused.found


def test_the_rod_length_of_the_rig_is_what_rods_may_miss():
    document = with_joints((0, 0), (6.5, 0))
    assert read(document)
    document["features"][ROD_BORE]["properties"]["rig"] = {"rod_length_m": 1.0}
    assert "within a rod (1 m)" in refusal(document).accepted


def test_rods_that_turn_straight_back_are_refused():
    refused = refusal(with_joints((0, 0, 0), (3, 0, math.pi), (3, 0, 0)))
    assert (refused.feature, refused.accepted) == (ROD_BORE, "joints that arcs can connect")


@pytest.mark.parametrize("end", ["entry", "exit"])
def test_a_rig_whose_least_pitch_is_its_greatest_is_refused(end):
    rig = {f"{end}_pitch_ratio_min": 0.2, f"{end}_pitch_ratio_max": 0.1}
    refused = refusal(changed(BORE, rig=rig))
    assert refused.field == f"properties.rig.{end}_pitch_ratio_min"


def test_a_finish_before_the_start_is_refused():
    refused = refusal(changed(BORE, planned_finish_at="2026-03-11T12:59:59Z"))
    assert refused.field == "properties.planned_finish_at"


def test_a_bore_name_that_stands_twice_is_refused():
    document = changed(ROD_BORE, name="B-1")
    refused = refusal(document)
    assert (refused.feature, refused.field) == (ROD_BORE, "properties.name")


def test_a_second_pit_at_the_same_end_is_refused():
    document = job_document()
    document["features"].append(job_document()["features"][PIT])
    refused = refusal(document)
    assert (refused.feature, refused.feature_name) == (len(document["features"]) - 1, "pit at entry of 'B-1'")
    assert refused.accepted == "a bore_name and end that no other pit of the file has"


def test_a_pit_of_a_bore_that_is_not_there_is_refused():
    refused = refusal(changed(PIT, bore_name="B-3"))
    assert (refused.feature, refused.field) == (PIT, "properties.bore_name")
    assert refused.accepted.startswith("perhaps B-")


def test_an_alignment_of_a_few_millimetres_is_refused():
    document = job_document()
    document["features"][ROD_BORE]["geometry"]["coordinates"] = [place(0, 4), place(0.005, 4)]
    refused = refusal(document)
    assert (refused.feature, refused.field) == (ROD_BORE, "geometry.coordinates")
    assert refused.accepted == "an alignment of at least 0.1 m"


@pytest.mark.parametrize(
    ("members", "field", "words"),
    [
        ({"final_diameter_m": 8}, "properties.final_diameter_m", "8 in = 0.203 m"),
        ({"final_diameter_m": 8, "pilot_diameter_m": 4}, "properties.pilot_diameter_m", "4 in = 0.102 m"),
        ({"rig": {"minimum_cover_m": 72}}, "properties.rig.minimum_cover_m", "72 in = 1.829 m"),
        ({"rig": {"entry_pitch_ratio_min": -25}}, "properties.rig.entry_pitch_ratio_min", "-25 % = -0.25"),
        ({"ground": [[0, 10_000]]}, "properties.ground[0][1]", "10000 ft = 3048.000 m"),
    ],
)
def test_a_figure_of_a_bore_in_another_unit_asks(members, field, words):
    refused = refusal(changed(BORE, **members))
    assert (refused.feature, refused.field) == (BORE, field)
    assert words in refused.found


@pytest.mark.parametrize(
    ("joint", "member", "words"),
    [
        ((3, -8), "pitch_ratio", "-8 % = -0.08"),
        ((3, 0, 90), "heading_rad", "90 degrees = 1.5708 rad"),
        ((120, 0), "length_m", "120 in = 3.048 m"),
    ],
)
def test_a_figure_of_a_rod_in_another_unit_asks(joint, member, words):
    refused = refusal(with_joints((0, 0), joint))
    assert (refused.feature, refused.field) == (ROD_BORE, f"properties.rods.joints[1].{member}")
    assert words in refused.found


def test_a_pit_in_inches_asks():
    assert "60 in = 1.524 m" in refusal(changed(PIT, depth_m=60)).found


def test_a_depth_of_the_bore_in_inches_asks():
    refused = refusal(with_vertices((0, 0), (20, 96), (bore_length_m(), 0)))
    assert refused.field == "properties.profile.vertices[1][1]"
    assert "96, a bore 96 m deep: feet or inches? 96 in = 2.438 m, 96 ft = 29.261 m" in refused.found


def test_a_depth_with_the_sign_of_an_elevation_is_refused():
    refused = refusal(with_vertices((0, 0), (20, -1.5), (bore_length_m(), 0)))
    assert refused.found == "-1.5, a hole 1.5 m above the ground"


def test_an_elevation_above_the_bore_s_own_ground_is_refused():
    ground = [[0, 100], [40, 104]]
    accepted = with_vertices((0, 100), (20, 99), (bore_length_m(), 103), by="elevation", ground=ground)
    assert read(accepted)
    refused = refusal(
        with_vertices((0, 100), (20, 103), (bore_length_m(), 103), by="elevation", ground=ground)
    )
    assert refused.found == "103, a hole 1 m above the ground"


def test_an_elevation_in_another_datum_than_the_ground_is_refused():
    refused = refusal(
        with_vertices((0, 328), (20, 325), (bore_length_m(), 328), by="elevation", ground=[[0, 100]])
    )
    assert refused.found == "328, a hole 228 m above the ground"


def test_elevations_of_a_bore_without_its_own_ground_are_taken_as_they_are():
    document = with_vertices((0, 100), (20, 98), (bore_length_m(), 100), by="elevation")
    assert read(document)
    document["features"].pop(GROUND)
    assert read(document)


def test_a_bore_across_the_180th_meridian_has_its_length_on_the_ground():
    document = job_document()
    for one in document["features"]:
        one["geometry"]["coordinates"] = _shifted(one["geometry"]["coordinates"])
    assert min(position[0] for position in document["features"][BORE]["geometry"]["coordinates"]) < 0
    assert read(document)


def _shifted(coordinates):
    if isinstance(coordinates[0], list):
        return [_shifted(inner) for inner in coordinates]
    east_deg = 180.0 - 30 * DEGREES_PER_METRE - ALIGNMENT[0][0]
    return [(coordinates[0] + east_deg + 180.0) % 360.0 - 180.0, coordinates[1]]
