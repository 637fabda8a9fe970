"""The benchmarks run, small, and both sides of each find the same; how long they take is theirs to print."""

import pytest

from tests.benchmarks import assessment, kernel
from tests.benchmarks.invented_jobs import BORE_SEGMENTS, LINE_SEGMENTS, LINES_PER_JOB, SIDE_M, invented_jobs


def test_invented_jobs_have_the_size_that_the_benchmark_names_and_fit_a_street():
    for job in invented_jobs(20):
        assert len(job.bore_m) == BORE_SEGMENTS + 1 == 61
        assert [len(line) for line in job.lines_m] == [LINE_SEGMENTS + 1] * LINES_PER_JOB == [10] * 40
        assert (abs(job.bore_m[:, :2] - SIDE_M / 2) < SIDE_M / 2).all()
        assert all((line[:, 2] < -0.3).all() for line in job.lines_m)


def test_the_same_seed_invents_the_same_jobs():
    assert (invented_jobs(2)[1].bore_m == invented_jobs(2)[1].bore_m).all()


@pytest.mark.django_db
def test_kernel_and_postgis_measure_the_same_distances():
    found = kernel.compare(10)
    assert found.pairs == 400
    assert found.apart_m < 1e-9
    assert found.ratio > 0.0


@pytest.mark.django_db
def test_assessment_and_sql_meet_the_same_lines_at_the_same_distances():
    found = assessment.compare(5)
    assert found.crossings > 0
    assert found.differing == ()
    # The program centres its frame on the bore, the jobs are drawn in one a few hundred metres off: their
    # scales differ by some 1e-9, and longitudes are doubles good to 1e-9 m.
    assert found.apart_m < 1e-6
    assert found.ratio > 0.0
