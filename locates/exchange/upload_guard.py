"""What an uploaded file must be before it is read: of a known form, small, and reaching for nothing."""

import io
import zipfile
from pathlib import PurePosixPath
from xml.parsers import expat

from locates.exchange.vector_errors import VectorFileError

# Common practice, no source: surveys of one street are a hundredth of these.
LARGEST_FILE_BYTES = 20 * 1024 * 1024
LARGEST_UNPACKED_BYTES = 64 * 1024 * 1024
MOST_MEMBERS = 100
MOST_ROWS = 10_000
MOST_COLUMNS = 200
MOST_POSITIONS = 200_000
LONGEST_CELL = 2_000
DEEPEST_XML = 64

SHAPEFILE_PARTS = (".shp", ".shx", ".dbf", ".prj", ".cpg")
_NESTED = (".zip", ".kmz", ".7z", ".rar", ".gz", ".tgz", ".tar", ".bz2", ".xz")
_SYSTEM_FOLDERS = ("__MACOSX",)
_CHUNK_BYTES = 64 * 1024
_SQLITE_MAGIC = b"SQLite format 3\x00"
_ZIP_MAGIC = b"PK\x03\x04"
_GEOPACKAGE_IDS = (b"GPKG", b"GP10", b"GP11")
_APPLICATION_ID = slice(68, 72)


def check_size(size_bytes: int) -> None:
    """Refuse an upload that is empty, or larger than any survey of one job."""
    if size_bytes == 0:
        raise VectorFileError("an empty file", "a file with at least one row")
    if size_bytes > LARGEST_FILE_BYTES:
        most = f"at most {LARGEST_FILE_BYTES // 1024**2} MiB"
        raise VectorFileError(f"{size_bytes:,} bytes", most)


def check_geopackage(raw: bytes) -> None:
    """Refuse what is not a GeoPackage by its first bytes."""
    if not raw.startswith(_SQLITE_MAGIC) or raw[_APPLICATION_ID] not in _GEOPACKAGE_IDS:
        raise VectorFileError("a file that is no GeoPackage inside", "a GeoPackage (.gpkg)")


def check_xml(raw: bytes, root: str) -> None:
    """Refuse XML with a document type, entities, links to other files, too much depth, or another root."""
    guard = _XmlGuard(root)
    try:
        guard.parse(raw)
    except expat.ExpatError as error:
        raise VectorFileError(f"what is not sound XML ({error})", f"a {root} file") from error


def shapefile_parts(raw: bytes) -> dict[str, dict[str, bytes]]:
    """Parts of every shapefile in a zip: by base name, then by suffix; nothing else is unpacked."""
    accepted = "a zip of shapefiles: .shp, .shx, .dbf and .prj beside each other"
    if not raw.startswith(_ZIP_MAGIC):
        raise VectorFileError("a file that is no zip inside", accepted)
    try:
        with zipfile.ZipFile(io.BytesIO(raw)) as archive:
            return _parts(archive, accepted)
    except (zipfile.BadZipFile, NotImplementedError, RuntimeError, EOFError) as error:
        raise VectorFileError(f"a zip that cannot be unpacked ({error})", accepted) from error


def _parts(archive: zipfile.ZipFile, accepted: str) -> dict[str, dict[str, bytes]]:
    members = archive.infolist()
    if len(members) > MOST_MEMBERS:
        raise VectorFileError(f"a zip of {len(members):,} files", f"at most {MOST_MEMBERS}")
    found: dict[str, dict[str, bytes]] = {}
    left = LARGEST_UNPACKED_BYTES
    for member in members:
        path = _safe_path(member.filename)
        if member.is_dir() or path.parts[0] in _SYSTEM_FOLDERS:
            continue
        suffix = path.suffix.lower()
        if suffix in _NESTED:
            raise VectorFileError(f"a zip inside of the zip ({path.name[:60]})", accepted)
        if suffix not in SHAPEFILE_PARTS:
            continue
        if suffix in found.setdefault(path.stem, {}):
            raise VectorFileError(f"two files {path.name[:60]}", "each name once")
        found[path.stem][suffix] = _unpacked(archive, member, left)
        left -= len(found[path.stem][suffix])
    shapefiles = {stem: parts for stem, parts in found.items() if ".shp" in parts}
    if not shapefiles:
        raise VectorFileError("a zip without a .shp file", accepted)
    for stem, parts in shapefiles.items():
        for suffix in (".shx", ".dbf"):
            if suffix not in parts:
                raise VectorFileError(f"{stem[:60]}.shp without its {suffix}", accepted)
    return shapefiles


def _safe_path(name: str) -> PurePosixPath:
    path = PurePosixPath(name)
    if path.is_absolute() or ".." in path.parts or "\\" in name or ":" in name or not name.isprintable():
        raise VectorFileError(f"a path that leads elsewhere ({name[:60]!r})", "plain file names in the zip")
    return path


def _unpacked(archive: zipfile.ZipFile, member: zipfile.ZipInfo, most_bytes: int) -> bytes:
    """Content of a member, counted as it comes: what its header says of its size proves nothing."""
    parts, size = [], 0
    with archive.open(member) as stream:
        while chunk := stream.read(_CHUNK_BYTES):
            size += len(chunk)
            if size > most_bytes:
                most = f"at most {LARGEST_UNPACKED_BYTES // 1024**2} MiB"
                raise VectorFileError("a zip that grows too large when unpacked", most)
            parts.append(chunk)
    return b"".join(parts)


class _XmlGuard:
    """Reads XML once, for what it must not hold; every encoding that hides it is the parser's to see."""

    def __init__(self, root: str) -> None:
        self.root = root
        self.depth = 0
        self.parser = expat.ParserCreate()
        self.parser.StartDoctypeDeclHandler = self._refuse_doctype
        self.parser.EntityDeclHandler = self._refuse_doctype
        self.parser.StartElementHandler = self._open
        self.parser.EndElementHandler = self._close

    def parse(self, raw: bytes) -> None:
        """Go through the whole of the file."""
        self.parser.Parse(raw, True)

    def _refuse_doctype(self, *_: object) -> None:
        raise VectorFileError(
            "XML with a document type or entities", f"plain {self.root}, without <!DOCTYPE>"
        )

    def _open(self, name: str, _: object) -> None:
        local = name.rpartition(":")[2]
        if self.depth == 0 and local != self.root:
            raise VectorFileError(f"XML of <{local[:40]}>", f"a file whose root is <{self.root}>")
        if local == "NetworkLink":
            raise VectorFileError("a link to another file", "a file that holds its features itself")
        self.depth += 1
        if self.depth > DEEPEST_XML:
            raise VectorFileError("XML nested too deep", f"at most {DEEPEST_XML} levels")

    def _close(self, _: str) -> None:
        self.depth -= 1
