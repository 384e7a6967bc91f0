"""What GDAL and GEOS read in vector tiles, for the tests.

Standard input: a line for each tile, "z x y path". Standard output: one JSON
object. Areas are square metres on the WGS 84 ellipsoid, of what lies inside the
tile's edges.
"""
import json
import math
import sys

from osgeo import gdal, ogr
from shapely import wkb
from shapely.geometry import LineString, box
from shapely.ops import unary_union
from shapely.validation import explain_validity

ogr.UseExceptions()
gdal.SetConfigOption("OGR_MVT_DETECT_FORMAT", "NO")
A = 6378137.0
E2 = (2 - 1 / 298.257223563) / 298.257223563
WORLD = 2 * math.pi * A


def area(g):
    """Of a geometry in Web Mercator: its area there by the scales at its middle."""
    lat = math.atan(math.sinh(g.centroid.y / A))
    w = 1 - E2 * math.sin(lat) ** 2
    return g.area * (1 - E2) / w ** 2 * math.cos(lat) ** 2


def read(path, z, x, y):
    options = ["X=%d" % x, "Y=%d" % y, "Z=%d" % z, "CLIP=NO"]
    data = gdal.OpenEx("MVT:" + path, gdal.OF_VECTOR, open_options=options)
    for i in range(data.GetLayerCount()):
        layer = data.GetLayer(i)
        for f in layer:
            yield layer.GetName(), json.loads(f.ExportToJson())["properties"], wkb.loads(bytes(f.GetGeometryRef().ExportToWkb()))


features, invalid, tiles = [], [], {}
for line in sys.stdin:
    z, x, y, path = line.split(maxsplit=3)
    z, x, y, path = int(z), int(x), int(y), path.strip()
    side = WORLD / 2 ** z
    west, north = x * side - WORLD / 2, WORLD / 2 - y * side
    shapes, whole = [], []
    for layer, props, g in read(path, z, x, y):
        if not g.is_valid:
            invalid.append("%d/%d/%d %s: %s" % (z, x, y, layer, explain_validity(g)))
            g = g.buffer(0)
        if g.geom_type.endswith("Polygon"):
            whole.append(g)
        g = g.intersection(box(west, north - side, west + side, north))
        if g.is_empty:
            continue
        props.pop("mvt_id", None)
        features.append({"layer": layer, "properties": props, "area_m2": area(g), "type": g.geom_type, "at": list(g.representative_point().coords[0])})
        if g.geom_type.endswith("Polygon"):
            shapes.append(g)
    tiles[x, y] = shapes, unary_union(whole), side / 4096, z

# Along the edge between two tiles neither may show what the other does not: all
# that a tile shows on the edge must lie in what its neighbour shows, which goes on
# beyond the edge, or within three units of it.
seams, odd = 0, []
for (x, y), (_, whole, unit, z) in sorted(tiles.items()):
    side = 4096 * unit
    west, north = x * side - WORLD / 2, WORLD / 2 - y * side
    for other, edge in (((x + 1, y), [(west + side, north), (west + side, north - side)]),
                        ((x, y + 1), [(west, north - side), (west + side, north - side)])):
        if other not in tiles:
            continue
        beside = tiles[other][1]
        edge = LineString(edge)
        shown = whole.intersection(edge)
        if shown.length > 0:
            seams += 1
        apart = shown.difference(beside.buffer(3 * unit)).length + beside.intersection(edge).difference(whole.buffer(3 * unit)).length
        odd.append({"edge": "%d/%d to %d/%d" % ((x, y) + other), "units": apart / unit, "length_m": shown.length})
json.dump({"features": features, "invalid": invalid, "seams": seams, "odd": sorted(odd, key=lambda o: -o["units"])[:5]}, sys.stdout)
