// The outline of one field from a file of GeoJSON (RFC 7946). The daemon checks it.

export type Found = { outline: { type: 'Polygon' | 'MultiPolygon'; coordinates: unknown } } | { error: string }

const most = 4_000_000 // characters; the daemon takes 4 MiB

/** outlineFrom is the only polygon in a text, or why there is none. */
export function outlineFrom(text: string): Found {
  if (text.length > most) return { error: 'The file is too large for one field. Take its outline alone.' }
  let value: unknown
  try {
    value = JSON.parse(text)
  } catch {
    return { error: 'The file is no GeoJSON. Other formats are taken in with the command drawbar catalog add-fields.' }
  }
  const found: { type: 'Polygon' | 'MultiPolygon'; coordinates: unknown }[] = []
  const look = (v: unknown) => {
    const g = v as { type?: unknown; coordinates?: unknown; geometry?: unknown; geometries?: unknown; features?: unknown } | null
    if (typeof g !== 'object' || g === null) return
    switch (g.type) {
      case 'FeatureCollection': if (Array.isArray(g.features)) g.features.forEach(look); break
      case 'GeometryCollection': if (Array.isArray(g.geometries)) g.geometries.forEach(look); break
      case 'Feature': look(g.geometry); break
      case 'Polygon': case 'MultiPolygon': found.push({ type: g.type, coordinates: flat(g.coordinates) }); break
      default:
    }
  }
  look(value)
  const [first] = found
  if (first === undefined) return { error: 'There is no polygon in the file.' }
  if (found.length > 1) return { error: `There are ${found.length} polygons in the file. Take one field alone, or add all with the command drawbar catalog add-fields.` }
  return { outline: first }
}

/** flat takes heights off the positions. */
const flat = (v: unknown): unknown => (!Array.isArray(v) ? v : typeof v[0] === 'number' ? v.slice(0, 2) : v.map(flat))
