"""Areas of quads and outlines by GEOS, for the tests.

Standard input: 64-bit integers in this machine's order, coordinates in steps of
0.1 mm. First the number of quads and eight numbers each; then the number of
polygons of an outline, for each the number of rings, for each ring the number
of corners and two numbers each; then the same for the polygons of a boundary;
then 1 if the ground touched twice is asked for, else 0. Standard output: one
JSON object, areas in square metres.
"""
import array
import json
import sys
import time

from shapely.geometry import LineString, Polygon
from shapely.ops import polygonize, unary_union
from shapely.strtree import STRtree
from shapely.validation import explain_validity

numbers = array.array("q")
numbers.frombytes(sys.stdin.buffer.read())
at = 0


def take(n):
    global at
    at += n
    return numbers[at - n:at]


def corners(n):
    flat = take(2 * n)
    return list(zip(flat[::2], flat[1::2]))


SCALE = 1e8  # square steps in a square metre
pieces = []
for _ in range(take(1)[0]):
    ring = corners(4)
    quad = Polygon(ring)
    if quad.is_valid:
        if quad.area > 0:
            pieces.append(quad)
    else:  # folded: all that its sides enclose
        pieces.extend(polygonize(unary_union(LineString(ring + ring[:1]))))

outline, bad = [], []
for _ in range(take(1)[0]):
    rings = [corners(take(1)[0]) for _ in range(take(1)[0])]
    polygon = Polygon(rings[0], rings[1:])
    if not polygon.is_valid:
        bad.append(explain_validity(polygon))
    if rings[0][0] != rings[0][-1] or not polygon.exterior.is_ccw or any(r.is_ccw for r in polygon.interiors):
        bad.append("ring open or the wrong way round")
    outline.append(polygon)

boundary = []
for _ in range(take(1)[0]):
    rings = [corners(take(1)[0]) for _ in range(take(1)[0])]
    boundary.append(Polygon(rings[0], rings[1:]))
want_twice = take(1)[0]

start = time.perf_counter()
union = unary_union(pieces)
took = time.perf_counter() - start
out = {
    "gross_m2": sum(p.area for p in pieces) / SCALE,
    "union_m2": union.area / SCALE,
    "union_s": took,
    "bad": bad,
    "outline_m2": sum(p.area for p in outline) / SCALE,
}
if outline and not bad:
    merged = unary_union(outline)
    out["apart_m2"] = merged.area / SCALE  # less than outline_m2 where two overlap
    out["difference_m2"] = merged.symmetric_difference(union).area / SCALE
if boundary:
    out["within_m2"] = union.intersection(unary_union(boundary)).area / SCALE
if want_twice:
    tree = STRtree(pieces)
    number = {id(p): i for i, p in enumerate(pieces)}
    common = []
    for i, p in enumerate(pieces):
        for q in tree.query(p):
            if number[id(q)] < i:
                shared = p.intersection(q)
                if shared.area > 0:
                    common.append(shared.buffer(0))
    out["twice_m2"] = unary_union(common).area / SCALE
json.dump(out, sys.stdout)
