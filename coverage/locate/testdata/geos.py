# Asks GEOS about places: JSON lines on stdin, each a list of polygons (rings of x, y;
# the first the outer one) and a list of places. Prints for each line, for each place,
# whether it is in the polygons without their holes, in them with their holes taken
# off, and how far it is from the outer rings.
import json
import sys

from shapely.geometry import Point, Polygon

for line in sys.stdin:
    polygons, places = json.loads(line)
    filled = [Polygon(p[0]) for p in polygons]
    ground = [Polygon(p[0], p[1:]) for p in polygons]
    out = []
    for x, y in places:
        at = Point(x, y)
        out.append([
            any(f.contains(at) for f in filled),
            any(g.contains(at) for g in ground),
            min(f.exterior.distance(at) for f in filled),
        ])
    print(json.dumps(out))
