import { expect, test } from 'vitest'
import shared from '../../../testdata/units.json'
import { about, amountOf, figure, show, systems, type Quantity, type System } from './units'

test('the table is the shared one', () => {
  expect(Object.keys(systems).sort()).toEqual(Object.keys(shared.systems).sort())
  for (const [system, quantities] of Object.entries(shared.systems)) {
    const ours = systems[system as System]
    expect(Object.keys(ours).sort()).toEqual(Object.keys(quantities).sort())
    for (const [quantity, want] of Object.entries(quantities)) {
      const got = ours[quantity as Quantity]
      expect({ symbol: got.symbol, digits: got.digits }).toEqual({ symbol: want.symbol, digits: want.digits })
      expect(Math.abs(got.si / want.si - 1), `${system} ${quantity}: ${got.si}, want ${want.si}`).toBeLessThan(1e-15)
    }
  }
})

// Each example names its published source.
test.each(shared.examples)('$si of $quantity is $text', ({ system, quantity, si, text }) => {
  expect(show(system as System, quantity as Quantity, si)).toBe(text)
})

test('what is not known is not zero', () => {
  for (const v of [null, undefined, Number.NaN, Number.POSITIVE_INFINITY]) expect(show('metric', 'area', v)).toBe('unknown')
  expect(figure('metric', 'area', -0.0001)).toEqual({ value: '0.000', symbol: 'ha' })
})

test('amounts', () => {
  expect(amountOf('kg')).toEqual({ amount: 'mass', rate: 'mass_rate' })
  expect(amountOf('l')).toEqual({ amount: 'volume', rate: 'volume_rate' })
  expect(amountOf('seeds')).toEqual({ amount: 'count', rate: 'count_rate' })
  expect(amountOf(null)).toBeNull()
})

test('what is worked out ahead has three digits', () => {
  expect([[331_980, '33.2 ha'], [3_319.8, '0.33 ha'], [1_955_200, '196 ha'], [50_000, '5.00 ha'], [0, '0.00 ha']].map(([si]) => about('metric', 'area', Number(si))))
    .toEqual(['33.2 ha', '0.33 ha', '196 ha', '5.00 ha', '0.00 ha'])
  expect(about('us', 'area', null)).toBe('unknown')
})
