"""The quality level (ASCE 38-22) that a record earns: never one that its evidence does not carry."""

MARK_QUALITY = "Quality level D (ASCE 38-22): one-call paint"
"""Of every mark: who painted it leaves no survey to control and no designation on record, which B asks."""


def hole_quality(found: bool) -> str:
    """What a test hole makes of a line: exposed, which is not level A by itself."""
    if not found:
        return "Found no line: it exposes nothing"
    return (
        "Exposed. Not quality level A, which asks for a survey to control, with records and designating too"
    )
