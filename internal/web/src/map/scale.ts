// The scale bar: a round length in the units of the person.

import { systems, type System } from '../units'

/** metresPerPixel is the ground under a CSS pixel of a map with 512-pixel tiles. */
export function metresPerPixel(zoom: number, latDeg: number): number {
  const around = 40_075_016.6856 // m, equator of the WGS 84 ellipsoid
  return (around * Math.cos((latDeg * Math.PI) / 180)) / (512 * 2 ** zoom)
}

/** scaleBar is the longest round length that fits: 1, 2 or 5 times a power of ten of the unit. */
export function scaleBar(system: System, mPerPixel: number, mostPixels: number): { pixels: number; text: string } {
  const short = systems[system].length
  const long = systems[system].distance
  const most = mPerPixel * mostPixels
  const unit = most >= long.si ? long : short
  let best = 0
  for (let power = -1; power < 5; power++) {
    for (const step of [1, 2, 5]) {
      const value = step * 10 ** power
      if (value * unit.si <= most) best = value
    }
  }
  return { pixels: (best * unit.si) / mPerPixel, text: `${Number(best.toPrecision(1))} ${unit.symbol}` }
}
