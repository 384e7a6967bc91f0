// How far a mark is from a place and in which direction, for a phone that knows where
// it is itself; from the machine the recorder works it out.

import { systems, type System } from '../units'

export interface Away { m: number; deg: number }

// WGS 84
const a = 6378137
const e2 = 0.0066943799901413165
const rad = Math.PI / 180

/**
 * away works on the ellipsoid's radii of curvature half-way: right to a part in
 * 100,000 within 10 km, which is as far as anybody walks.
 */
export function away(from: readonly [lon: number, lat: number], to: readonly [lon: number, lat: number]): Away {
  const middle = ((from[1] + to[1]) / 2) * rad
  const w = Math.sqrt(1 - e2 * Math.sin(middle) ** 2)
  const apart = ((to[0] - from[0] + 540) % 360 + 360) % 360 - 180
  const east = apart * rad * (a / w) * Math.cos(middle)
  const north = (to[1] - from[1]) * rad * ((a * (1 - e2)) / w ** 3)
  const deg = (Math.atan2(east, north) / rad - (apart * Math.sin(middle)) / 2 + 360) % 360
  return { m: Math.hypot(east, north), deg }
}

const winds = ['N', 'NE', 'E', 'SE', 'S', 'SW', 'W', 'NW'] as const
const windWords = ['north', 'north-east', 'east', 'south-east', 'south', 'south-west', 'west', 'north-west'] as const

const eighth = (deg: number) => Math.round((((deg % 360) + 360) % 360) / 45) % 8

/** wind is a direction as one of eight. */
export const wind = (deg: number): string => winds[eighth(deg)] ?? 'N'

/** windWord is wind in words, for a screen reader. */
export const windWord = (deg: number): string => windWords[eighth(deg)] ?? 'north'

/** distance is metres in the units of a person: whole metres or feet near, else km or miles. */
export function distance(system: System, m: number): string {
  const { length, distance: long } = systems[system]
  return m < 1000 ? `${(m / length.si).toFixed(0)} ${length.symbol}` : `${(m / long.si).toFixed(m < 10_000 ? 2 : 1)} ${long.symbol}`
}
