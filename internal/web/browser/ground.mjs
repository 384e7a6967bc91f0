// Where a place lies to the polygons of a GeoJSON file, in metres.

/** metresAround gives a function for the distance of two places near one, good to a part in ten thousand within a field. */
export function metresAround([, lat]) {
  const rad = (lat * Math.PI) / 180
  // the length of a degree on the ellipsoid of WGS 84 (series as in NIMA TR8350.2)
  const north = 111_132.954 - 559.822 * Math.cos(2 * rad) + 1.175 * Math.cos(4 * rad)
  const east = 111_412.84 * Math.cos(rad) - 93.5 * Math.cos(3 * rad)
  const distance = (a, b) => Math.hypot((a[0] - b[0]) * east, (a[1] - b[1]) * north)
  return Object.assign(distance, { east, north })
}

/** polygonsOf are the polygons of a GeoJSON object, each a list of rings. */
export function polygonsOf(json) {
  const geometries = json.type === 'Feature' ? [json.geometry] : json.features !== undefined ? json.features.map((f) => f.geometry) : [json]
  return geometries.flatMap((g) => (g.type === 'Polygon' ? [g.coordinates] : g.type === 'MultiPolygon' ? g.coordinates : []))
}

/** within tells whether a place is inside any of the polygons, and how far the nearest edge is; those more than 2 m away are not told exactly. */
export function within({ east, north }, polygons, [lon, lat]) {
  let inside = false
  let edgeM = 2
  for (const rings of polygons) {
    let odd = false
    for (const ring of rings) {
      for (let i = 0, j = ring.length - 1; i < ring.length; j = i++) {
        const [x1, y1] = [(ring[i][0] - lon) * east, (ring[i][1] - lat) * north]
        const [x2, y2] = [(ring[j][0] - lon) * east, (ring[j][1] - lat) * north]
        if (y1 > 0 !== y2 > 0 && (x2 - x1) * (-y1 / (y2 - y1)) + x1 > 0) odd = !odd
        if (Math.min(x1, x2) > edgeM || Math.max(x1, x2) < -edgeM || Math.min(y1, y2) > edgeM || Math.max(y1, y2) < -edgeM) continue
        const [dx, dy] = [x2 - x1, y2 - y1]
        const square = dx * dx + dy * dy
        const at = square === 0 ? 0 : Math.max(0, Math.min(1, -(x1 * dx + y1 * dy) / square))
        edgeM = Math.min(edgeM, Math.hypot(x1 + at * dx, y1 + at * dy))
      }
    }
    inside ||= odd
  }
  return { inside, edgeM }
}
