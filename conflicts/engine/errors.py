"""What the engine refuses, as exceptions that carry the offending value."""


class EngineError(Exception):
    """Root of every error that the engine raises."""


class FrameError(EngineError, ValueError):
    """Coordinates that are not finite or not on the globe."""


class PathError(EngineError, ValueError):
    """A bore path that cannot be built from its alignment, profile or rods."""


class LineError(EngineError, ValueError):
    """A buried line that cannot be built from its mark and test holes."""


class AllowanceError(EngineError, ValueError):
    """A radius, zone or allowance that is not a finite figure of 0 or more: it can rule out no crossing."""


class SearchError(EngineError):
    """A search that came to no answer, neither a profile nor a proof that there is none."""


class LookAheadError(EngineError, ValueError):
    """A head or a rig of which nothing can be foretold."""


class OutOfTimeError(SearchError):
    """A search that was stopped because its time was over."""
