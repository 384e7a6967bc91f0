import { expect, it } from 'vitest'
import { outlineFrom } from './outline'

const ring = [[0, 53], [0.01, 53], [0.01, 53.01], [0, 53]]
const polygon = { type: 'Polygon', coordinates: [ring] }

it('takes the only polygon of a file, without heights', () => {
  const high = { type: 'Polygon', coordinates: [ring.map((p) => [...p, 61.5])] }
  const feature = { type: 'Feature', properties: {}, geometry: high }
  for (const v of [polygon, feature, { type: 'FeatureCollection', features: [feature] }, { type: 'GeometryCollection', geometries: [high] }]) {
    expect(outlineFrom(JSON.stringify(v))).toEqual({ outline: polygon })
  }
})
it('says what to do where there is none, or more than one', () => {
  for (const [text, want] of [['{', 'no GeoJSON'], ['7', 'no polygon'], ['{"type":"Point","coordinates":[0,53]}', 'no polygon'], [JSON.stringify({ type: 'GeometryCollection', geometries: [polygon, polygon] }), '2 polygons'], ['x'.repeat(4_000_001), 'too large']] as const) {
    expect(outlineFrom(text)).toEqual({ error: expect.stringContaining(want) as string })
  }
})
