"""The alignments of a job file in its ground frame."""

from typing import Any

from conflicts.engine.frame import FloatArray, frame_about


def ground_alignments_m(document: Any) -> dict[int, FloatArray]:
    """Alignment of each bore in the job's ground frame.

    Parameters
    ----------
    document : dict
        A job file of sound form.

    Returns
    -------
    dict of int to (n, 2) float array
        Index of the bore's feature to east and north in metres.
    """
    alignments = {
        index: feature["geometry"]["coordinates"]
        for index, feature in enumerate(document["features"])
        if feature["properties"]["kind"] == "bore"
    }
    if not alignments:
        return {}
    frame = frame_about(alignments.values(), document["job"].get("mean_height_m"))
    return {index: frame.to_ground(*zip(*positions, strict=True)) for index, positions in alignments.items()}
