"""`load_job` and `export_job` as they are typed: bad input leaves with 2, says why, and changes nothing."""

import json
import os
import threading

import pytest
from django.core.management import call_command

from conflicts.exchange.whole_job import load_job
from conflicts.models import Bore, Pit
from locates.models import (
    FacilityOperator,
    GroundPoint,
    Job,
    Linework,
    Mark,
    Organisation,
    Response,
    SurfaceFeature,
    TestHole,
    Ticket,
)
from tests.job_documents import (
    BORE,
    HOLE,
    LATITUDE_DEG,
    LONGITUDE_DEG,
    MARK,
    PIT,
    TICKET,
    VALVE,
    feature,
    job_bytes,
    job_document,
    place,
    ring,
)

RECORDS = (
    Organisation,
    Job,
    FacilityOperator,
    Ticket,
    Response,
    Mark,
    TestHole,
    SurfaceFeature,
    GroundPoint,
    Linework,
    Bore,
    Pit,
)

pytestmark = pytest.mark.django_db


def everything():
    return {model.__name__: sorted(model.objects.values_list(), key=str) for model in RECORDS}


def spoiled(change):
    """The sound document after a change."""
    document = job_document()
    change(document)
    return job_bytes(document)


def properties(document, index):
    return document["features"][index]["properties"]


def set_property(index, member, value):
    return spoiled(lambda document: properties(document, index).__setitem__(member, value))


def set_coordinates(index, coordinates):
    return spoiled(
        lambda document: document["features"][index]["geometry"].__setitem__("coordinates", coordinates)
    )


BAD_FILES = {
    "not JSON": (b"Dear sir,\n", "not JSON, at line 1, column 1"),
    "an empty file": (b"", "not JSON, at line 1, column 1"),
    "not a FeatureCollection": (b'{"type": "Feature"}', 'accepted: "FeatureCollection"'),
    "an unknown kind": (set_property(MARK, "kind", "pipe"), "feature 1 (pipe 'G-1'), field properties.kind"),
    "an unknown member": (
        set_property(MARK, "stated_width_in", 4),
        "field properties.stated_width_in: found an unknown member; accepted: perhaps stated_width_m",
    ),
    "a missing field": (
        spoiled(lambda document: properties(document, MARK).pop("operator")),
        "feature 1 (mark 'G-1'), field properties.operator: found nothing; accepted: text",
    ),
    "a number as text": (
        set_property(MARK, "stated_width_m", "4"),
        "feature 1 (mark 'G-1'), field properties.stated_width_m: "
        'found "4" (text); accepted: a number of metres greater than 0',
    ),
    "NaN": (
        set_property(HOLE, "depth_to_top_m", float("nan")),
        "feature 3 (test_hole 'TH-1'), field properties.depth_to_top_m: found NaN; accepted: a finite number",
    ),
    "a number beyond all bounds": (
        job_bytes(job_document()).replace(b"1.219", b"1e999"),
        "field properties.depth_to_top_m: found Infinity",
    ),
    "a coordinate out of range": (set_coordinates(HOLE, [-93.5, 90.5]), "found [-93.5, 90.5], off the globe"),
    "swapped coordinates": (set_coordinates(HOLE, [LATITUDE_DEG, LONGITUDE_DEG]), "swapped?"),
    "swapped coordinates on the globe": (set_coordinates(HOLE, [39.0, -75.0]), "in the Antarctic: swapped?"),
    "a place far away": (set_coordinates(HOLE, [-39.0, 9.35]), "km from the rest of the job"),
    "a self-crossing work area": (
        set_coordinates(TICKET, [[place(0, 0), place(10, 10), place(10, 0), place(0, 10), place(0, 0)]]),
        "a boundary that crosses itself at [-93.4999500, 39.0000500]",
    ),
    "a profile that runs backwards": (
        set_property(BORE, "profile", {"by": "depth", "vertices": [[0, 0], [30, 2], [20, 2], [62, 0]]}),
        "station 20 m after station 30 m",
    ),
    "a profile that stops short": (
        set_property(BORE, "profile", {"by": "depth", "vertices": [[0, 0], [50, 2]]}),
        "stops short of the alignment's end by ",
    ),
    "a telephone line 55 m deep": (
        spoiled(
            lambda document: (
                properties(document, MARK).update(facility_type="communication"),
                properties(document, HOLE).update(depth_to_top_m=55),
            )
        ),
        "a communication line at a depth of 55 m: feet or inches? 55 in = 1.397 m, 55 ft = 16.764 m",
    ),
    "a duplicate ticket number": (
        spoiled(
            lambda document: document["features"].append(
                feature(
                    "ticket",
                    "Polygon",
                    [ring(0, 0, 9, 9)],
                    number="T-1001",
                    ticket_kind="routine",
                    called_at="2026-03-02T14:10:00Z",
                )
            )
        ),
        "feature 11 (ticket 'T-1001'), field properties.number: "
        'found "T-1001" (text), which feature 0 has already',
    ),
    "a duplicate mark ref": (
        set_property(MARK, "ref", "W-1"),
        'found "W-1" (text), which feature 1 has already',
    ),
    "a mark that is not there": (set_property(HOLE, "mark_ref", "G-9"), "which no mark of the file has"),
    "a bore that is not there": (set_property(PIT, "bore_name", "B-9"), "which no bore of the file has"),
    "a ticket that is not there": (
        set_property(MARK, "ticket_number", "?"),
        "which no ticket of the file has",
    ),
    "an explanation that is not there": (
        set_property(VALVE, "explained_by_mark_ref", "?"),
        "which no mark of the file has",
    ),
    "an unknown jurisdiction": (
        spoiled(lambda document: document["job"].update(jurisdiction="Missouri")),
        "field job.jurisdiction",
    ),
    "100 MB of nonsense": (
        b"nonsense" * 12_500_000,
        "found 100,000,000 bytes; accepted: at most 33,554,432 bytes",
    ),
    "JSON nested 100,000 deep": (b"[" * 100_000 + b"]" * 100_000, "nested too deep"),
    "objects nested 100,000 deep": (b'{"a":' * 100_000 + b"1" + b"}" * 100_000, "nested too deep"),
}


def run(capsys, *arguments):
    """Exit status, standard output and standard error of a command."""
    status = 0
    try:
        call_command(*arguments)
    except SystemExit as left:
        status = left.code
    captured = capsys.readouterr()
    return status, captured.out, captured.err


@pytest.mark.parametrize("bad", BAD_FILES)
@pytest.mark.parametrize("options", [[], ["--replace"]])
def test_bad_input_leaves_with_2_says_why_and_changes_nothing(bad, options, tmp_path, capsys):
    raw, words = BAD_FILES[bad]
    file = tmp_path / "job.geojson"
    file.write_bytes(raw)
    load_job(job_bytes(job_document()))
    before = everything()
    status, out, err = run(capsys, "load_job", str(file), *options)
    assert (status, out) == (2, "")
    assert words in err
    assert err.endswith("Nothing was changed.\n")
    assert "Traceback" not in err
    assert everything() == before


def test_bad_input_stores_nothing_in_an_empty_database(tmp_path, capsys):
    file = tmp_path / "job.geojson"
    file.write_bytes(BAD_FILES["a bore that is not there"][0])
    assert run(capsys, "load_job", str(file))[0] == 2
    assert {name for name, rows in everything().items() if rows} == set()


def test_a_file_that_is_not_there_is_told(tmp_path, capsys):
    status, out, err = run(capsys, "load_job", str(tmp_path / "none.geojson"))
    assert (status, out) == (2, "")
    assert err == f"{tmp_path}/none.geojson: No such file or directory. Nothing was changed.\n"


def test_a_folder_is_told(tmp_path, capsys):
    status, _, err = run(capsys, "load_job", str(tmp_path))
    assert (status, err) == (2, f"{tmp_path}: Is a directory. Nothing was changed.\n")


def test_a_loop_of_links_is_told(tmp_path, capsys):
    loop = tmp_path / "loop"
    loop.symlink_to(loop)
    status, _, err = run(capsys, "load_job", str(loop))
    assert status == 2
    assert "Too many levels of symbolic links" in err


def test_an_endless_pipe_is_read_no_further_than_a_job_file_goes(tmp_path, capsys):
    pipe = tmp_path / "pipe"
    os.mkfifo(pipe)

    def pour():
        with pipe.open("wb") as stream:
            try:
                while True:
                    stream.write(b" " * 65536)
            except BrokenPipeError:
                stream.raw.close()

    pourer = threading.Thread(target=pour)
    pourer.start()
    status, _, err = run(capsys, "load_job", str(pipe))
    pourer.join()
    assert status == 2
    assert "at most 33,554,432 bytes" in err


def test_a_sound_file_is_loaded_and_told_in_one_line(tmp_path, capsys):
    file = tmp_path / "job.geojson"
    file.write_bytes(job_bytes(job_document()))
    status, out, err = run(capsys, "load_job", str(file))
    assert (status, err) == (0, "")
    assert out == (
        'Loaded the job "Larkspur Lane" of Quillfeather Boring: 2 bores, 1 ticket, 2 marks, 2 test holes.\n'
    )
    status, out, err = run(capsys, "load_job", str(file))
    assert (status, out) == (2, "")
    assert "--replace" in err
    assert run(capsys, "load_job", str(file), "--replace")[0] == 0


def test_an_export_on_standard_output_is_nothing_but_the_document(capsys):
    job = load_job(job_bytes(job_document()))
    status, out, err = run(capsys, "export_job", "Larkspur Lane")
    assert (status, err) == (0, "")
    document = json.loads(out)
    assert len(document["features"]) == 11
    assert load_job(out.encode(), replace=True).id == job.id


def test_an_export_into_a_file_loads_again(tmp_path, capsys):
    load_job(job_bytes(job_document()))
    file = tmp_path / "out.geojson"
    status, out, _ = run(capsys, "export_job", "Larkspur Lane", "--output", str(file))
    assert (status, out) == (0, "")
    assert run(capsys, "load_job", str(file), "--replace")[0] == 0


def test_an_export_that_cannot_be_written_is_told(tmp_path, capsys):
    load_job(job_bytes(job_document()))
    status, out, err = run(capsys, "export_job", "Larkspur Lane", "--output", str(tmp_path))
    assert (status, out, err) == (2, "", f"{tmp_path}: Is a directory.\n")


def test_a_job_that_is_not_there_is_told_with_those_that_are(capsys):
    assert run(capsys, "export_job", "Nowhere") == (2, "", 'There is no job "Nowhere". There are none.\n')
    load_job(job_bytes(job_document()))
    status, out, err = run(capsys, "export_job", "Nowhere")
    assert (status, out, err) == (2, "", 'There is no job "Nowhere". Accepted: "Larkspur Lane".\n')


def test_a_job_of_two_organisations_needs_the_organisation(capsys):
    load_job(job_bytes(job_document()))
    load_job(spoiled(lambda document: document["job"].update(organisation="Ninebark Utilities")))
    status, out, err = run(capsys, "export_job", "Larkspur Lane")
    assert (status, out) == (2, "")
    assert '--organisation "Ninebark Utilities", --organisation "Quillfeather Boring"' in err
    status, out, _ = run(capsys, "export_job", "Larkspur Lane", "--organisation", "Ninebark Utilities")
    assert json.loads(out)["job"]["organisation"] == "Ninebark Utilities"
