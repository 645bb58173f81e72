"""Streets as the ground of a map: drawn from the group's own extract, thinned until they are
light enough for a page."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import numpy.typing as npt
from django.utils.safestring import SafeString

from apps.places.core.streets.network import Network
from apps.web.charts import svg
from apps.web.charts.map_frame import Frame

MOST_BYTES = 60_000
"""Of drawn streets on a page, so that the page with its list stays under 150 kB."""

CLASSES = {0: "c-path", 1: "c-street", 2: "c-main"}
"""By `Network.width`, in the order in which they are drawn."""

COARSER = 1.6
FIRST_TOLERANCE = 0.6
"""Units of the picture that a bend may be moved by; coarser each time until the budget holds."""

Units = npt.NDArray[np.float64]


def draw_streets(network: Network, frame: Frame) -> list[SafeString]:
    """One path a width of street. O(n log n) in the stretches on the picture."""
    x = np.asarray(frame.east_units(network.longitude))  # type: ignore[arg-type]
    y = np.asarray(frame.south_units(network.latitude))  # type: ignore[arg-type]
    is_in = (x > 0) & (x < frame.wide) & (y > 0) & (y < frame.tall)
    shown = np.flatnonzero(is_in[network.start] | is_in[network.end])
    points = np.stack([x, y], axis=1)
    tolerance, least_width = FIRST_TOLERANCE, 0
    while True:
        paths = {
            width: _path(network, shown[network.width[shown] == width], points, tolerance)
            for width in CLASSES
            if width >= least_width
        }
        if sum(map(len, paths.values())) <= MOST_BYTES or tolerance > frame.wide:
            break
        tolerance *= COARSER
        if tolerance > 3 * FIRST_TOLERANCE:
            least_width = 1
        if tolerance > 12 * FIRST_TOLERANCE:
            least_width = 2
    return [
        svg.element("path", d=path, class_=CLASSES[width]) for width, path in paths.items() if path
    ]


def _path(network: Network, shown: npt.NDArray[np.int64], points: Units, tolerance: float) -> str:
    lines = _lines(network.start[shown], network.end[shown], points)
    drawn = dict.fromkeys(filter(None, (_said(_thin(line, tolerance)) for line in lines)))
    return "".join(drawn)


def _lines(
    start: npt.NDArray[np.int32], end: npt.NDArray[np.int32], points: Units
) -> Iterator[Units]:
    """Stretches drawn one after the other become one line."""
    if len(start) == 0:
        return
    breaks = np.flatnonzero(start[1:] != end[:-1]) + 1
    for first, last in zip(np.r_[0, breaks], np.r_[breaks, len(start)], strict=True):
        yield points[np.r_[start[first], end[first:last]]]


def _thin(line: Units, tolerance: float) -> Units:
    """Leave out bends nearer than `tolerance` to the line without them (Douglas & Peucker
    1973)."""
    keep = np.zeros(len(line), dtype=bool)
    keep[[0, -1]] = True
    spans = [(0, len(line) - 1)]
    while spans:
        first, last = spans.pop()
        if last - first < 2:
            continue
        away = _away(line[first + 1 : last], line[first], line[last])
        worst = int(np.argmax(away))
        if away[worst] > tolerance:
            keep[first + 1 + worst] = True
            spans += [(first, first + 1 + worst), (first + 1 + worst, last)]
    return line[keep]


def _away(points: Units, start: Units, end: Units) -> Units:
    line = end - start
    square = float(line @ line)
    part = np.clip((points - start) @ line / square, 0, 1) if square else np.zeros(len(points))
    return np.asarray(np.hypot(*(start + part[:, None] * line - points).T))


def _said(line: Units) -> str:
    """SVG path data in whole units: one absolute point, then steps."""
    whole = np.rint(line).astype(int)
    steps = np.diff(whole, axis=0)
    steps = steps[(steps != 0).any(axis=1)]
    if not len(steps):
        return ""
    said = f"M{whole[0, 0]} {whole[0, 1]}l"
    for number in steps.ravel().tolist():
        said += f"{number}" if number < 0 or said[-1] == "l" else f" {number}"
    return said
