"""Files that lie, explode or reach for something are refused with words, and nothing of them is read."""

import io
import sqlite3
import subprocess
import sys
import zipfile
from contextlib import closing

import pyogrio
import pytest
import shapely

from locates.exchange import gdal_process, upload_guard
from locates.exchange.coordinate_systems import system_of_description
from locates.exchange.vector_errors import VectorFileError
from locates.exchange.vector_files import read_tables
from tests.surveyed_files import gdal_file

POINTS = [shapely.Point(3114226.2, 10070436.1), shapely.Point(3114227.2, 10070436.1)]


def zipped(members: dict[str, bytes], **options) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in members.items():
            archive.writestr(name, content)
    return out.getvalue()


@pytest.fixture
def shapefile(tmp_path):
    gdal_file(
        tmp_path / "a.shp", "ESRI Shapefile", POINTS, crs="EPSG:2277", geometry_type="Point", ref=["1", "2"]
    )
    return {path.name: path.read_bytes() for path in tmp_path.iterdir()}


@pytest.fixture
def geopackage(tmp_path):
    path = tmp_path / "a.gpkg"
    gdal_file(path, "GPKG", POINTS, crs="EPSG:2277", geometry_type="Point", ref=["1", "2"])
    return path


def refusal(name: str, raw: bytes) -> str:
    with pytest.raises(VectorFileError) as caught:
        read_tables(name, raw)
    return str(caught.value)


def test_a_sound_shapefile_in_a_folder_of_a_zip_is_read(shapefile):
    (table,) = read_tables("a.zip", zipped({f"survey/{name}": raw for name, raw in shapefile.items()}))
    assert [row.values for row in table.rows] == [("1",), ("2",)]
    assert table.system.epsg == 2277


def test_a_zip_bomb_is_refused_while_it_is_unpacked(shapefile):
    bomb = zipped({**shapefile, "a.dbf": bytes(upload_guard.LARGEST_UNPACKED_BYTES)})
    assert len(bomb) < 1024**2
    assert "grows too large" in refusal("a.zip", bomb)


def test_a_zip_of_very_many_files_is_refused(shapefile):
    many = {f"{number}.txt": b"" for number in range(upload_guard.MOST_MEMBERS)}
    assert "accepted: at most 100" in refusal("a.zip", zipped({**shapefile, **many}))


@pytest.mark.parametrize("name", ["../../a.shp", "/etc/a.shp", "..\\a.shp", "C:/a.shp", "a\x01.shp"])
def test_a_path_that_leads_out_of_the_zip_is_refused(shapefile, name):
    assert "leads elsewhere" in refusal("a.zip", zipped({**shapefile, name: b""}))


def test_an_archive_inside_of_the_archive_is_refused(shapefile):
    assert "a zip inside of the zip" in refusal("a.zip", zipped({**shapefile, "b.zip": zipped(shapefile)}))


@pytest.mark.parametrize("missing", ["a.shp", "a.shx", "a.dbf"])
def test_a_shapefile_without_one_of_its_parts_is_refused(shapefile, missing):
    del shapefile[missing]
    assert missing[1:] in refusal("a.zip", zipped(shapefile))


def test_a_shapefile_whose_description_is_no_system_asks_for_one(shapefile):
    (table,) = read_tables("a.zip", zipped({**shapefile, "a.prj": b"/vsicurl/http://127.0.0.1:9/a.prj"}))
    assert table.system is None
    assert "was not taken" in table.note


@pytest.mark.parametrize(
    "text",
    [
        'GEOGCS["x",DATUM["d",SPHEROID["s",6378137,298]],PRIMEM["G",0],UNIT["d",0.017],EXTENSION["PROJ4","+nadgrids=/etc/passwd"]]',
        "+proj=longlat +nadgrids=/etc/passwd",
        'BOUNDCRS[ABRIDGEDTRANSFORMATION["NTv2",PARAMETERFILE["grid","/dev/zero"]]]',
        "x" * 20_000,
        "/etc/passwd",
        "EPSG:2277",
    ],
    ids=["extension", "proj string", "grid file", "long", "path", "code"],
)
def test_a_description_of_a_system_that_reaches_for_anything_is_refused(text):
    with pytest.raises(VectorFileError, match="coordinate system"):
        system_of_description(text)


ENTITIES = """<?xml version="1.0"?><!DOCTYPE {root} [<!ENTITY a "aaaa"><!ENTITY b "&a;&a;&a;&a;">
<!ENTITY c SYSTEM "file:///etc/passwd">]><{root}>&b;&c;</{root}>"""


@pytest.mark.parametrize("root", ["kml", "gpx"])
@pytest.mark.parametrize("encoding", ["utf-8", "utf-16"])
def test_xml_with_entities_is_refused_in_every_encoding(root, encoding):
    assert "document type or entities" in refusal(f"a.{root}", ENTITIES.format(root=root).encode(encoding))


def test_a_kml_that_links_to_another_file_is_refused():
    raw = b"<kml><Document><NetworkLink><Link><href>http://127.0.0.1:9/</href></Link></NetworkLink></Document></kml>"
    assert "a link to another file" in refusal("a.kml", raw)


def test_xml_nested_without_end_is_refused():
    assert "nested too deep" in refusal("a.gpx", b"<gpx>" + b"<a>" * 10_000)


@pytest.mark.parametrize(
    "statement",
    [
        "CREATE VIEW v AS SELECT * FROM a",
        "CREATE VIRTUAL TABLE v USING fts5(x)",
        "CREATE TRIGGER t AFTER UPDATE ON gpkg_spatial_ref_sys BEGIN DELETE FROM a; END",
    ],
    ids=["view", "virtual table", "trigger"],
)
def test_a_geopackage_with_anything_that_runs_is_refused(geopackage, statement):
    with closing(sqlite3.connect(geopackage)) as database:
        database.execute(statement)
        database.commit()
    assert statement.split(" ")[1].lower() in refusal("a.gpkg", geopackage.read_bytes())


def test_the_system_of_a_geopackage_is_read_by_its_code_and_never_as_its_text(geopackage):
    with closing(sqlite3.connect(geopackage)) as database:
        database.execute("DROP TRIGGER IF EXISTS t")
        database.execute("UPDATE gpkg_spatial_ref_sys SET definition = '/vsicurl/http://127.0.0.1:9/'")
        database.commit()
    (table,) = read_tables("a.gpkg", geopackage.read_bytes())
    assert table.system.epsg == 2277


@pytest.mark.parametrize(
    ("name", "raw", "told"),
    [
        ("a.gpkg", b"SQLite format 3\x00" + bytes(200), "no GeoPackage inside"),
        ("a.gpkg", b"<OGRVRTDataSource/>", "no GeoPackage inside"),
        ("a.zip", b"<OGRVRTDataSource/>", "no zip inside"),
        ("a.kml", b"<OGRVRTDataSource><OGRVRTLayer/></OGRVRTDataSource>", "XML of <OGRVRTDataSource>"),
        ("a.dxf", b"<OGRVRTDataSource/>", "no DXF in text inside"),
        ("a.dxf", b"  0\nSECTION\n  2\nENTITIES\n  0\n", "cannot be read"),
        ("a.vrt", b"<OGRVRTDataSource/>", 'a file "a.vrt"'),
        ("a.csv", b"", "an empty file"),
        ("a.csv", b"x,y\n", "a header without rows"),
        ("a.csv", b"x,x\n1,2\n", "two columns named x"),
        ("a.csv", b"x,y\n1,2,3\n", "3 values in row 2"),
        ("a.csv", b'x,y\n"1,2\n', "CSV that breaks off at line 2"),
        ("a.csv", b"x\x00,y\n1,2\n", "NUL"),
        ("a.geojson", b"[" * 100_000, "nested too deep"),
        ("a.geojson", b'{"type":"FeatureCollection","features":[]}', "no features"),
        (
            "a.geojson",
            b'{"type":"FeatureCollection","features":[{"type":"Feature","properties":{},'
            b'"geometry":{"type":"Point","coordinates":[1e999,0]}}]}',
            "Infinity",
        ),
        (
            "a.geojson",
            b'{"type":"FeatureCollection","crs":{"type":"link","properties":{"href":"http://127.0.0.1:9/"}},'
            b'"features":[{"type":"Feature","properties":{},"geometry":null}]}',
            "names no EPSG code",
        ),
    ],
)
def test_what_is_not_what_its_name_says_is_refused_with_words(name, raw, told):
    assert told in refusal(name, raw)


def test_more_rows_or_bytes_than_any_survey_has_are_refused():
    rows = b"x,y\n" + b"1,2\n" * (upload_guard.MOST_ROWS + 1)
    assert "too many rows" in refusal("a.csv", rows)
    assert "bytes" in refusal("a.csv", bytes(upload_guard.LARGEST_FILE_BYTES + 1))


def test_gdal_in_its_own_process_knows_one_driver_and_no_secret(monkeypatch, geopackage):
    monkeypatch.setenv("SECRET_KEY", "a secret of the site")
    seen: dict[str, object] = {}
    start = subprocess.run

    def watched(words, **options):
        seen.update(options)
        return start(words, **options)

    monkeypatch.setattr(gdal_process.subprocess, "run", watched)
    read_tables("a.gpkg", geopackage.read_bytes())
    environment = seen["env"]
    assert not {"SECRET_KEY", "DATABASE_URL"} & set(environment)
    skipped = set(environment["GDAL_SKIP"].split(","))
    assert skipped | {"GPKG"} == set(pyogrio.list_drivers())
    assert "GPKG" not in skipped


def test_a_process_with_another_driver_than_the_one_asked_for_reads_nothing(tmp_path):
    (tmp_path / "request.json").write_text('{"driver": "GPKG", "file": "a.gpkg", "most_rows": 1}')
    words = [sys.executable, "-I", gdal_process.PROGRAM, "read"]
    ended = subprocess.run(words, cwd=tmp_path, capture_output=True, check=False)
    assert ended.returncode != 0
    assert b"other drivers are registered" in ended.stderr
