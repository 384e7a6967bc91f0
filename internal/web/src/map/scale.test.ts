import { expect, test } from 'vitest'
import { metresPerPixel, scaleBar } from './scale'

// OGC Two Dimensional Tile Matrix Set 2.0, annex D.1 (WebMercatorQuad): cell size
// 156543.0339280410 m at zoom 0 with 256 cells a tile.
test('ground under a pixel', () => {
  expect(metresPerPixel(0, 0)).toBeCloseTo(156543.033928041 / 2, 3)
  expect(metresPerPixel(17, 60)).toBeCloseTo(156543.033928041 / 2 / 2 ** 17 / 2, 9)
})

test.each([
  ['metric', 0.1, 120, { pixels: 100, text: '10 m' }],
  ['metric', 1, 120, { pixels: 100, text: '100 m' }],
  ['metric', 10, 120, { pixels: 100, text: '1 km' }],
  ['metric', 0.01, 120, { pixels: 100, text: '1 m' }],
  ['us', 0.3048, 120, { pixels: 100, text: '100 ft' }],
] as const)('%s at %d m a pixel', (system, m, most, want) => {
  const got = scaleBar(system, m, most)
  expect(got.text).toBe(want.text)
  expect(got.pixels).toBeCloseTo(want.pixels, 6)
})
