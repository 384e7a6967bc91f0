# Asks GEOS how far a way goes on in a field: JSON lines on stdin, each a list of
# polygons (rings of x, y; the first the outer one), a place and a place far ahead of it.
# Prints for each whether the place is in the outer rings, how far it is from there to
# where the way leaves them, and how much of that is ground of the polygons.
import json
import sys

from shapely.geometry import LineString, Point, Polygon
from shapely.ops import unary_union

for line in sys.stdin:
    polygons, at, far = json.loads(line)
    outer = unary_union([Polygon(p[0]) for p in polygons])
    ground = unary_union([Polygon(p[0], p[1:]) for p in polygons])
    inside = outer.contains(Point(at))
    end, work = 0.0, 0.0
    if inside:
        met = LineString([at, far]).intersection(outer)
        first = min(getattr(met, "geoms", [met]), key=lambda g: g.distance(Point(at)))
        end = first.length
        work = first.intersection(ground).length
    print(json.dumps([inside, end, work]))
