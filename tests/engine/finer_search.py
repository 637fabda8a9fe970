"""The profile search made ten times finer, to hold the search as it is against."""

from collections.abc import Iterator
from contextlib import contextmanager

from conflicts.engine import (
    profile_edges,
    profile_measure,
    profile_refine,
    profile_samples,
    profile_search,
    profile_ways,
)

FINER = (
    (profile_samples, {"LOOKED_AT_M": 0.01, "MOST_LOOKED_AT": 2400, "LACKED_M": 2e-4}),
    (profile_measure, {"MEASURED_M": 0.005, "CLOSE_M": 0.5, "HEIGHTS_M": 0.025}),
    (profile_refine, {"MOST_STEPS": 120, "ENOUGH_M": 1e-6, "MOST_PATIENT_STEPS": 300, "PATIENCE_M": 1e-6}),
    # Every line is asked about wherever the profile comes nearest to it, and its edges told anew at once.
    (profile_edges, {"NEAR_M": 1e3, "SAME_ABOUT_M": 5e-4}),
    # Every line counts as one that may hold a profile.
    (profile_refine, {"LEAST_WEIGHT": -1.0}),
    # The nodes of the grid go with the square of its step.
    (profile_ways, {"NODES": 600_000.0, "LONGEST_STEP_M": 0.1, "FOUND_M": 4e-4}),
    # Choices differ in any line within a decimetre of the least margin, and every one is refined twice.
    (profile_search, {"MOST_CHOICES": 60, "WORTH_M": 3e-4, "DECIDING_M": 0.1, "SECOND_BEGINNING_M": -1e3}),
)


@contextmanager
def ten_times_finer() -> Iterator[None]:
    """Search with ten times as many samples, steps, nodes and choices of sides."""
    kept = [(module, name, getattr(module, name)) for module, figures in FINER for name in figures]
    for module, figures in FINER:
        for name, value in figures.items():
            setattr(module, name, value)
    try:
        yield
    finally:
        for module, name, value in kept:
            setattr(module, name, value)
