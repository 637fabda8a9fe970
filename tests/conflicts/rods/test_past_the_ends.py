"""A head past the exit, or before the entry, is as far to the side as it is, and no farther."""

import numpy as np
import pytest

from conflicts.assess import compute_bores
from conflicts.drilled import right_of_plan_m
from tests import factories

pytestmark = pytest.mark.django_db


@pytest.fixture
def scene():
    """A bore of 100 m to the east."""
    bore = factories.small_job().bores.get()
    return compute_bores([bore.pk])[bore.pk].scene


@pytest.mark.parametrize("beyond_m", [0.0, 0.25, 3.0])
@pytest.mark.parametrize("right_m", [0.0, 0.4, -0.4])
def test_what_lies_ahead_of_an_end_is_no_offset(scene, beyond_m, right_m):
    ahead = (scene.plan_m[-1] - scene.plan_m[0]) / np.linalg.norm(scene.plan_m[-1] - scene.plan_m[0])
    right = np.array([ahead[1], -ahead[0]])
    for end, way, station_m in (
        (scene.plan_m[-1], ahead, scene.path.length_m),
        (scene.plan_m[0], -ahead, 0.0),
    ):
        point = np.array([*(end + beyond_m * way + right_m * right), 0.0])
        assert right_of_plan_m(scene, station_m, point) == pytest.approx(right_m, abs=1e-6)
