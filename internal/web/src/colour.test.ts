import { expect, test } from 'vitest'
import { cividis, okabeIto, pieceColour, ratioColour, type Colouring } from './colour'
import { contrast, looks } from './look'

test('the scale rises in lightness, so that it is read without colour', () => {
  const lightness = Array.from({ length: 21 }, (_, i) => contrast(ratioColour(0.5 + i / 20), '#000000'))
  for (let i = 1; i < lightness.length; i++) expect(lightness[i]).toBeGreaterThan(lightness[i - 1] ?? 0)
})

test('the scale ends where it says', () => {
  expect(ratioColour(0)).toBe(cividis[0])
  expect(ratioColour(0.5)).toBe(cividis[0])
  expect(ratioColour(1)).toBe(cividis[2])
  expect(ratioColour(9)).toBe(cividis[4])
})

const tank = { tank: 1, product: 'Spring oats', rate: 0.01, target: 0.01 }
const by = (over: Partial<Colouring>): Colouring => ({ mode: 'rate', tank: 1, products: ['Spring oats'], tokens: looks.day, ...over })

test.each([
  ['rate', by({}), [tank], cividis[2]],
  ['no target', by({}), [{ ...tank, target: null }], looks.day.unknown],
  ['target 0', by({}), [{ ...tank, target: 0 }], looks.day.unknown],
  ['rate 0', by({}), [{ ...tank, rate: 0 }], cividis[0]],
  ['another tank', by({ tank: 2 }), [tank], looks.day.unknown],
  ['product', by({ mode: 'product' }), [tank], okabeIto[0]],
  ['unknown product', by({ mode: 'product', products: [] }), [tank], looks.day.unknown],
  ['times', by({ mode: 'times' }), [], looks.day.covered],
] as const)('by %s', (_, colouring, tanks, want) => {
  expect(pieceColour(colouring, tanks)).toBe(want)
})
