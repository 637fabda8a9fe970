"""A sewer that only a drilled hole meets."""

from tests import factories


def sewer_beside(bore):
    """A sewer across rods that end where `test_lines_beside.AWAY` says; its near end is 4 m off the plan."""
    return factories.MarkFactory(
        job=bore.job,
        operator=bore.job.operators.get(),
        ref="SS9",
        facility_type="sewer_drain",
        geometry=factories.line((70.0, -9.0), (70.0, -4.0)),
    )
