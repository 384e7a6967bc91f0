import { expect, test } from 'vitest'
import { away, distance, wind, windWord } from './away'

// By GeographicLib's GeodSolve (C. F. F. Karney, J. Geod. 87:43-55, 2013): GeodSolve -i -p 6.
const pairs = [
  { from: [-0.012, 53.351], to: [-0.0121, 53.3513], m: 34.045458, deg: 348.72054954 },
  { from: [0.0005, 53.3512], to: [-0.0031, 53.3534], m: 342.659343, deg: 315.60708977 },
  { from: [0.1, 53.4], to: [-0.02, 53.36], m: 9142.592528, deg: 240.90964819 },
  { from: [179.9999, -33.5], to: [-179.9998, -33.502], m: 223.571533, deg: 172.83740746 },
  { from: [20.0, 0.0], to: [20.001, 0.0], m: 111.319491, deg: 90.00000000 },
  { from: [-97.1, 49.9], to: [-97.1, 49.95], m: 5561.380908, deg: 0.00000000 },
] as const

test('distance and bearing are those of the geodesic', () => {
  for (const p of pairs) {
    const got = away(p.from, p.to)
    expect(Math.abs(got.m / p.m - 1), `${JSON.stringify(p)}: ${got.m}`).toBeLessThan(1e-5)
    const off = Math.abs(((got.deg - p.deg + 540) % 360) - 180)
    expect((off * Math.PI) / 180 * p.m, `${JSON.stringify(p)}: ${got.deg}`).toBeLessThan(0.1) // m to the side
  }
})

test('the same place is no way off', () => {
  expect(away([0, 53], [0, 53]).m).toBe(0)
})

test('words for directions', () => {
  for (const [deg, short, word] of [[0, 'N', 'north'], [22.4, 'N', 'north'], [22.6, 'NE', 'north-east'], [90, 'E', 'east'], [359.9, 'N', 'north'], [-45, 'NW', 'north-west'], [225, 'SW', 'south-west']] as const) {
    expect([wind(deg), windWord(deg)]).toEqual([short, word])
  }
})

test('distances in the units of the person', () => {
  expect([distance('metric', 12.4), distance('metric', 1500), distance('metric', 12_345)]).toEqual(['12 m', '1.50 km', '12.3 km'])
  expect([distance('us', 30.48), distance('us', 1609.344)]).toEqual(['100 ft', '1.00 mi'])
})
