"""What an edit changed, in words, from the rows as the record of events keeps them."""

from django.contrib.gis.geos import Point

from conflicts.edit_words import all_changes, changed_fields


def test_only_what_differs_is_told_and_the_bookkeeping_of_a_save_is_not():
    before = {
        "id": "a",
        "version": 1,
        "edited_at": "x",
        "depth_to_top_m": 0.72,
        "is_open": True,
        "material": "PVC",
    }
    after = {**before, "version": 2, "edited_at": "y", "depth_to_top_m": 0.75, "is_open": False}
    assert all_changes(before, after) == "depth_to_top_m: 0.72 -> 0.75; is_open: yes -> no"


def test_nothing_is_unknown_and_not_zero():
    (change,) = changed_fields({"stated_depth_m": None}, {"stated_depth_m": 0.0})
    assert (change.before, change.after) == ("unknown", "0.0")


def test_a_shape_is_told_in_degrees():
    shapes = [Point(-119.45, 43.05 + step, srid=4326).hexewkb.decode() for step in (0.0, 1e-8)]
    (change,) = changed_fields({"position": shapes[0]}, {"position": shapes[1]})
    assert (change.before, change.after) == ("POINT (-119.45 43.05)", "POINT (-119.45 43.05000001)")


def test_of_a_record_that_was_added_what_it_holds_is_told():
    changes = changed_fields(None, {"id": "a", "ref": "P-9", "material": "", "found": False})
    assert [(one.field, one.before, one.after) for one in changes] == [
        ("found", "unknown", "no"),
        ("ref", "unknown", "P-9"),
    ]
