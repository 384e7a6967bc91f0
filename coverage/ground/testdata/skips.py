"""Skips by GEOS's buffers, for the tests.

Standard input: 64-bit integers in this machine's order, coordinates in steps of
0.1 mm. The number of quads and eight numbers each; the number of rings of the
boundary, for each the number of corners and two numbers each (0 rings: there is
none); then the width of a pass and the least area in square steps. Standard
output: one JSON object, areas in square metres, places in metres.
"""
import array
import json
import sys
import time

from shapely.geometry import LineString, Polygon
from shapely.ops import polygonize, unary_union
from shapely.validation import make_valid

numbers = array.array("q")
numbers.frombytes(sys.stdin.buffer.read())
at = 0


def take(n):
    global at
    at += n
    return numbers[at - n:at]


def corners(n):
    flat = take(2 * n)
    return [(x / 1e4, y / 1e4) for x, y in zip(flat[::2], flat[1::2])]


def polygons(g):
    if g.geom_type == "Polygon":
        return [g] if g.area > 0 else []
    return [p for q in getattr(g, "geoms", []) for p in polygons(q)]


pieces = []
for _ in range(take(1)[0]):
    ring = corners(4)
    quad = Polygon(ring)
    if quad.is_valid:
        if quad.area > 0:
            pieces.append(quad)
    else:  # folded: all that its sides enclose
        pieces.extend(polygonize(unary_union(LineString(ring + ring[:1]))))
rings = [Polygon(corners(take(1)[0])) for _ in range(take(1)[0])]
width, least = take(1)[0] / 1e4, take(1)[0] / 1e8
r = width / 2

start = time.perf_counter()
# Corners are on a grid of 0.1 mm: slits of that width are none.
covered = unary_union(pieces).buffer(0.0005, join_style=2).buffer(-0.0005, join_style=2)
union_took = time.perf_counter() - start
SEGMENTS = 32
start = time.perf_counter()
if rings:
    field = rings[0]
    for ring in rings[1:]:
        field = field.symmetric_difference(ring)
else:
    field = covered.buffer(r, SEGMENTS).buffer(-r, SEGMENTS)
uncovered = field.difference(covered)
opened = uncovered.buffer(-r, SEGMENTS).buffer(r, SEGMENTS)
left = uncovered.difference(opened.buffer(0.25, SEGMENTS))
took = time.perf_counter() - start

# Parts are joined across up to 0.1 m.
pieces = polygons(left)
groups = polygons(unary_union([p.buffer(0.05, 8) for p in pieces]).buffer(0))
members = [[] for _ in groups]
for p in pieces:
    for i, g in enumerate(groups):
        if g.intersects(p):
            members[i].append(p)
            break
parts = []
for m in members:
    area = sum(p.area for p in m)
    x = sum(p.area * p.centroid.x for p in m) / area
    y = sum(p.area * p.centroid.y for p in m) / area
    parts.append({"area_m2": area, "x": x, "y": y})
json.dump({
    "took_s": took,
    "union_s": union_took,
    "field_m2": field.area if rings else covered.area,
    "uncovered_m2": uncovered.area if rings else 0,
    "parts": sorted((p for p in parts if p["area_m2"] >= least), key=lambda p: -p["area_m2"]),
    "crumbs": sorted((p["area_m2"] for p in parts if p["area_m2"] < least), reverse=True)[:10],
}, sys.stdout)
