import { expect, test } from 'vitest'
import type { Mended } from './calls'
import { beside, fieldCapacity, fromForm, hours, pairs, percent, spanOf, states, toForm } from './words'

test('what a correction states is told in words', () => {
  for (const [statement, words] of [
    [{ adjust: [{ tank: 1, product: { name: 'Winter barley', kind: 'seed' }, target: '150 kg/ha' }] }, 'tank 1: Winter barley, target 150 kg/ha'],
    [{ adjust: [{ tank: 2, rate: 'flow', lag_s: 2.5, factor: 1.034 }] }, 'tank 2: amount by the flow, lag 2.5 s, amount × 1.034'],
    [{ adjust: [{ tank: 2, rate: '112 kg/ha' }] }, 'tank 2: amount by 112 kg/ha'],
    [{ field: 'Far Reach', operation: 'seeding' }, 'field Far Reach; operation seeding'],
    [{ person: '', from: '2026-05-14T13:05:10Z', to: '2026-05-14T14:05:10Z', why: 'x', by: 'y', made: '2026-05-15T06:00:00Z' }, 'nobody named'],
    [{ implement: { name: '9 m drill', sections_m: [4.5, 4.5] } }, 'implement 9 m drill, sections 4.5 + 4.5 m'],
    [{ weighed: { tank: 1, amount: '3210 kg', ticket: 'T-88' } }, 'tank 1 weighed 3210 kg'],
    [{ boundary: null }, 'no boundary'],
    [{ growth_stage: 30 }, 'growth stage 30'],
  ] as [Record<string, unknown>, string][]) expect(states(statement)).toBe(words)
})

test('times in a form come back as they went in', () => {
  const at = '2026-05-14T13:05:10.000Z'
  expect(fromForm(toForm(at))).toBe(at)
  expect(fromForm('')).toBeNull()
  expect(fromForm('noon')).toBeNull()
  expect(spanOf({ start: at, end: '2026-05-14T14:00:00.250Z' })).toEqual({ from: at, to: '2026-05-14T14:00:00.251Z' })
  expect(spanOf({ start: null, end: at })).toBeNull()
})

test('short words of time and part', () => {
  expect([20, 90, 3600, 5400].map(hours)).toEqual(['20 s', '2 min', '1 h 0 min', '1 h 30 min'])
  expect([percent(0.0341, 1), percent(null), percent(-0.0001)]).toEqual(['3.4\u00a0%', 'unknown', '0\u00a0%'])
})

const op = (number: number, start: string, end: string) => ({ number, start, end }) as Mended

test('operations are laid beside each other by when they began', () => {
  const [a, b, c] = [op(1, '1', '2'), op(2, '3', '5'), op(3, '4', '5')]
  expect(pairs([a], [a, c])).toEqual([{ before: a, after: a }, { before: null, after: c }])
  expect(pairs([b], [c])).toEqual([{ before: b, after: c }])
  expect(pairs([a, b], [b])).toEqual([{ before: a, after: null }, { before: b, after: b }])
})

test('figures are laid beside each other by their labels', () => {
  const before = [{ label: 'Oats', value: '1' }, { label: 'Covered', value: '5' }]
  expect(beside(before, [{ label: 'Covered', value: '6' }, { label: 'Barley', value: '2' }])).toEqual([
    { label: 'Oats', before: '1', after: null }, { label: 'Covered', before: '5', after: '6' }, { label: 'Barley', before: null, after: '2' },
  ])
})

// ASAE EP496: acres an hour are miles an hour times feet times efficiency over 8.25.
test('field capacity', () => {
  const m2PerS = 5 * 0.44704 * 40 * 0.3048 * 0.7
  expect(fieldCapacity('us', m2PerS)).toEqual({ value: (5 * 40 * 0.7 / 8.25).toFixed(1), symbol: 'ac/h' })
  expect(fieldCapacity('metric', m2PerS)).toEqual({ value: '6.9', symbol: 'ha/h' })
})
