// What the ground is coloured by, and how: the same for map tiles and live pieces.

import type { Tokens } from './look'

export type Mode = 'times' | 'rate' | 'product'

/**
 * Cividis, from low to high: a scale that people with colour vision deficiency read
 * like others (Nuñez, Anderton and Renslow 2018, PLOS ONE 13(7) e0199239). Five of its
 * steps.
 */
export const cividis = ['#00204d', '#414d6b', '#7c7b78', '#bcaf6f', '#ffea46'] as const

/** Rate over target at the ends of the scale; beyond, the ends hold. */
export const ratioEnds = [0.5, 1.5] as const

/** ratioStops is where each step of the scale lies. */
export const ratioStops: readonly (readonly [number, string])[] = cividis.map((colour, i) => {
  const [low, high] = ratioEnds
  return [low + ((high - low) * i) / (cividis.length - 1), colour] as const
})

/**
 * Okabe and Ito's colours for things that must be told apart by everyone (Color
 * Universal Design, 2008), without black, which is the ink of the map.
 */
export const okabeIto = ['#e69f00', '#56b4e9', '#009e73', '#f0e442', '#0072b2', '#d55e00', '#cc79a7'] as const

/** productColour is the colour of the nth product of the work. */
export const productColour = (n: number): string => okabeIto[n % okabeIto.length] ?? okabeIto[0]

const parts = (hex: string) => [1, 3, 5].map((at) => Number.parseInt(hex.slice(at, at + 2), 16))

/** mix is a colour between two, at 0 to 1. */
export function mix(a: string, b: string, at: number): string {
  const [x, y] = [parts(a), parts(b)]
  return `#${x.map((v, i) => Math.round(v + ((y[i] ?? v) - v) * at).toString(16).padStart(2, '0')).join('')}`
}

/** ratioColour is the colour of a rate over its target. */
export function ratioColour(ratio: number): string {
  const [low, high] = ratioEnds
  const at = ((Math.min(Math.max(ratio, low), high) - low) / (high - low)) * (cividis.length - 1)
  const step = Math.min(Math.floor(at), cividis.length - 2)
  return mix(cividis[step] ?? cividis[0], cividis[step + 1] ?? cividis[0], at - step)
}

/** What to colour by: the tank counts for rate and product. */
export interface Colouring { mode: Mode; tank: number; products: readonly string[]; tokens: Tokens }

/** pieceColour is the colour of a live piece. */
export function pieceColour(c: Colouring, tanks: readonly { tank: number; product: string; rate: number | null; target: number | null }[]): string {
  if (c.mode === 'times') return c.tokens.covered
  const tank = tanks.find((t) => t.tank === c.tank)
  if (tank === undefined) return c.tokens.unknown
  if (c.mode === 'product') {
    const n = c.products.indexOf(tank.product)
    return n < 0 ? c.tokens.unknown : productColour(n)
  }
  return tank.rate === null || tank.target === null || tank.target <= 0 ? c.tokens.unknown : ratioColour(tank.rate / tank.target)
}
