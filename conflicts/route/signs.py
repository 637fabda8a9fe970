"""The shape and the colour of each stage of a bore, alike in list and picture."""

from conflicts.route.footage import Stage

SIGNS = {
    Stage.CLOSED_OUT: ("stage-closed-out", "is-free"),
    Stage.STOPPED: ("sign-holds", "is-stop"),
    Stage.RELEASED: ("sign-passes", "is-free"),
    Stage.SIGNED_AHEAD: ("stage-later", ""),
    Stage.UNKNOWN: ("stage-unknown", "is-stop"),
    Stage.HELD: ("stage-held", "is-stop"),
}
"""Id of a shape of the page, and a class."""
