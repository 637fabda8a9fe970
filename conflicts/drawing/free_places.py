"""Where the labels of a picture find room: each at the first place where it hides no other."""

from collections.abc import Sequence

Place = tuple[float, float]

DISTANCES_PX = (24.0, 42.0, 60.0, 78.0, 96.0)
SLANTS = (0.0, 0.45, -0.45, 0.9, -0.9)


class Placer:
    """Remembers what is taken of a sheet, in boxes.

    Parameters
    ----------
    width_px, height_px : float
        Of the sheet; nothing is placed across its edge while there is room inside.
    """

    def __init__(self, width_px: float, height_px: float) -> None:
        self._size = (width_px, height_px)
        self._taken: list[tuple[float, float, float, float]] = []

    def take(self, left: float, top: float, right: float, bottom: float) -> None:
        """Keep a box from all later labels."""
        self._taken.append((left, top, right, bottom))

    def first_free(self, wanted: Sequence[Place], width: float, height: float) -> Place:
        """The first of some places where a label begins that is free; the first of all where none is.

        Parameters
        ----------
        wanted : sequence of (x, y)
            Where the middle of the label's head may be; it runs to the right from half its height before.
        width, height : float
            Of the label.
        """
        half = 0.5 * height
        boxes = [(x - half, y - half, x - half + width, y + half) for x, y in wanted]
        chosen = next((index for index, box in enumerate(boxes) if self._is_free(box)), 0)
        self._taken.append(boxes[chosen])
        return wanted[chosen]

    def beside(self, at: Place, across: Place, radius: float, *, first_left: bool) -> Place:
        """A free place for a balloon beside a point, the nearer the better, on either side.

        Parameters
        ----------
        at : (x, y)
        across : (x, y)
            Unit vector to one side; the other is its opposite.
        radius : float
            Of the balloon.
        first_left : bool
            Whether that side is looked at first.
        """
        side = 1.0 if first_left else -1.0
        along = (-across[1], across[0])
        places = [
            (
                at[0] + away * (sign * across[0] + slant * along[0]),
                at[1] + away * (sign * across[1] + slant * along[1]),
            )
            for away in DISTANCES_PX
            for sign in (side, -side)
            for slant in SLANTS
        ]
        boxes = [(x - radius - 1, y - radius - 1, x + radius + 1, y + radius + 1) for x, y in places]
        chosen = next((index for index, box in enumerate(boxes) if self._is_free(box)), 0)
        self._taken.append(boxes[chosen])
        return places[chosen]

    def _is_free(self, box: tuple[float, float, float, float]) -> bool:
        left, top, right, bottom = box
        if left < 0.0 or top < 0.0 or right > self._size[0] or bottom > self._size[1]:
            return False
        return all(
            right <= one[0] or left >= one[2] or bottom <= one[1] or top >= one[3] for one in self._taken
        )
