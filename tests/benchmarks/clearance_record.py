"""The clearance record of a long bore, made from end to end on one core, against plain pages by its renderer.

Run as `python tests/benchmarks/clearance_record.py [CROSSINGS] [PHOTOS]`; all of it is rolled back. Asked for
and made as a worker does: read, drawn, laid out, kept. The peer is what the renderer alone needs for as many
plain pages: one table of three columns, no style but the renderer's own, no tags, the same photos.
"""

import os
import sys
import time
from collections.abc import Callable
from dataclasses import dataclass
from datetime import timedelta
from io import BytesIO
from pathlib import Path
from typing import Any
from uuid import uuid4

import numpy as np
from PIL import Image

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from tests.benchmarks.measuring import least_seconds, make_ready

make_ready()

from django.contrib.auth.models import AbstractUser  # noqa: E402 - what follows needs Django set up
from django.core.files.base import ContentFile  # noqa: E402
from django.db import transaction  # noqa: E402
from weasyprint import HTML  # noqa: E402

from conflicts.assess import assess  # noqa: E402
from conflicts.desk.record_watch import record_watch  # noqa: E402
from conflicts.desk.sign_walk import sign_walk  # noqa: E402
from conflicts.models import Bore, CrossingWatch, DailyWalk, PassMade, RecordMaking  # noqa: E402
from conflicts.record import make  # noqa: E402
from conflicts.record.ask import ask_for_record  # noqa: E402
from conflicts.record.render import OwnPictures  # noqa: E402
from locates.desk.keep_photo import keep_photo  # noqa: E402
from locates.models import Job, Mark, TestHole  # noqa: E402
from tests.clearance_records import read_clearance_record  # noqa: E402
from tests.factories import (  # noqa: E402
    BORE_LENGTH_M,
    PLANNED_START_AT,
    MarkFactory,
    TestHoleFactory,
    line,
    person_in_role,
    point,
    small_job,
)

PHONE_PX = (4000, 3000)
ROUNDS = 3
ROWS_A_PAGE = 38  # with the photos, which fill some of the pages
ROW = "<tr><td>Row {0}</td><td>{0}.125 ft</td><td>What stands here is as long as a line of a page.</td></tr>"


@dataclass(frozen=True)
class Comparison:
    """Seconds of both, what the record holds, and how large the photos were when they were kept.

    ``record_core_s`` is what this process computed in them, however busy the machine was besides.
    """

    record_s: float
    record_core_s: float
    plain_s: float
    pages: int
    plain_pages: int
    size_bytes: int
    crossings: int
    watches: int
    photos: int
    originals_bytes: int

    @property
    def ratio(self) -> float:
        """The record's seconds for each of the plain pages'."""
        return self.record_s / self.plain_s


def compare(
    crossings: int, photos: int, photo_px: tuple[int, int] = PHONE_PX, rounds: int = ROUNDS
) -> Comparison:
    """Measure both on one bore; the caller rolls the records back."""
    bore, foreman = store_bore(crossings), person_in_role("Foreman")
    originals_bytes = _photograph(bore.job, photos, photo_px, foreman)
    _watch(bore, foreman)
    made = _undone(lambda: _make(bore, foreman))
    record = read_clearance_record(bore.pk)
    pictures = OwnPictures(record)
    plain = _plain_html(made.page_count, [photo.sha256 for photo in record.all_photos()])
    core_s: list[float] = []
    record_s, plain_s = least_seconds(
        lambda: _undone(lambda: _measured(lambda: _make(bore, foreman), core_s)),
        lambda: HTML(string=plain, url_fetcher=pictures).write_pdf(),
        rounds,
    )
    return Comparison(
        record_s=record_s,
        record_core_s=min(core_s),
        plain_s=plain_s,
        pages=made.page_count,
        plain_pages=len(HTML(string=plain, url_fetcher=pictures).render().pages),
        size_bytes=made.size_bytes,
        crossings=len(record.crossings),
        watches=sum(len(one.watches) for one in record.crossings),
        photos=len(record.all_photos()),
        originals_bytes=originals_bytes,
    )


def store_bore(crossings: int) -> Bore:
    """A bore of 100 m that so many lines cross, every fourth of them not exposed."""
    job = small_job()
    operator, ticket = job.operators.get(), job.tickets.get()
    for number in range(crossings - 1):
        east_m = 4.0 + (BORE_LENGTH_M - 8.0) * number / max(1, crossings - 1)
        mark = MarkFactory(
            job=job,
            operator=operator,
            ticket=ticket,
            ref=f"L-{number}",
            geometry=line((east_m, -15), (east_m + 1.0, 15)),
        )
        if number % 4:
            TestHoleFactory(job=job, mark=mark, ticket=ticket, position=point(east_m + 0.5, 0))
    return job.bores.get()


def phone_photo(number: int, size_px: tuple[int, int]) -> bytes:
    """A JPEG with as much detail as a phone's: earth of many sizes of grain, another one for each number."""
    grain = np.random.default_rng(number)
    points = np.full((size_px[1], size_px[0], 3), (141.0, 116.0, 92.0))
    for step in (200, 40, 8, 2):
        small = grain.normal(0.0, 9.0, (size_px[1] // step + 1, size_px[0] // step + 1, 1))
        points += small.repeat(step, 0).repeat(step, 1)[: size_px[1], : size_px[0]]
    file = BytesIO()
    Image.fromarray(points.clip(0, 255).astype(np.uint8)).save(file, "JPEG", quality=90)
    return file.getvalue()


def _photograph(job: Job, photos: int, size_px: tuple[int, int], by: AbstractUser) -> int:
    """Keep so many photos of the test holes and marks in turns; their bytes as they came."""
    holes = list(TestHole.objects.filter(job=job).order_by("ref"))
    subjects = [*holes, *Mark.objects.filter(job=job).order_by("ref")]
    total = 0
    for number in range(photos):
        raw = phone_photo(number, size_px)
        total += len(raw)
        place = point(50.0, number / 10)
        keep_photo(
            subjects[number % len(subjects)],
            ContentFile(raw, name=f"photo-{number}.jpg"),
            by=by,
            taken_at=PLANNED_START_AT,
            position=place,
            error_m=4.0,
        )
    return total


def _watch(bore: Bore, by: AbstractUser) -> None:
    """A walk, and each pass seen at each crossing."""
    walk = DailyWalk(bore=bore, marks_intact=True, device_checked=True, device="Locator 3", holes_open=True)
    sign_walk(walk, by=by, at=PLANNED_START_AT - timedelta(minutes=30))
    marks = {mark.ref: mark for mark in bore.job.marks.all()}
    for pass_made in PassMade:
        for one in assess(bore, PLANNED_START_AT)["crossings"]:
            watch = CrossingWatch(
                bore=bore,
                mark=marks[one["mark_ref"]],
                kind=one["kind"],
                station_m=one["station_m"],
                pass_made=pass_made,
                seen=True,
                gap_m=0.9,
                required_m=one["required_m"],
            )
            record_watch(watch, by=by, at=PLANNED_START_AT)


def _make(bore: Bore, by: AbstractUser) -> RecordMaking:
    row = ask_for_record(bore, uuid4(), by=by)
    make.run(row.pk)
    row.refresh_from_db()
    return row


def _undone(work: Callable[[], Any]) -> Any:
    with transaction.atomic():
        result = work()
        transaction.set_rollback(True)
    return result


def _measured(work: Callable[[], object], core_s: list[float]) -> None:
    start = time.process_time()
    work()
    core_s.append(time.process_time() - start)


def _plain_html(pages: int, photos: list[str]) -> str:
    rows = "".join(map(ROW.format, range(pages * ROWS_A_PAGE)))
    pictures = "".join(f'<img src="record:photo-{one}" style="width: 220px">' for one in photos)
    return f"<table>{rows}</table><p>{pictures}</p>"


def main() -> None:
    """Print the comparison."""
    crossings, photos = (int(one) for one in (*sys.argv[1:], "40", "60")[:2])
    os.sched_setaffinity(0, {min(os.sched_getaffinity(0))})
    with transaction.atomic():
        found = compare(crossings, photos)
        transaction.set_rollback(True)
    print(
        f"{found.crossings} crossings, {found.watches} watches, {found.photos} photos of "
        f"{found.originals_bytes / found.photos / 1e6:.1f} MB as they came"
    )
    print(f"clearance record {found.record_s:6.2f} s {found.pages:4d} pages {found.size_bytes:12,d} bytes")
    print(f"of it computed   {found.record_core_s:6.2f} s")
    print(f"plain pages      {found.plain_s:6.2f} s {found.plain_pages:4d} pages")
    print(f"ratio            {found.ratio:6.2f}")


if __name__ == "__main__":
    main()
