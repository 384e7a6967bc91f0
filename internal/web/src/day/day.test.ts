import { describe, expect, test } from 'vitest'
import { amountUnits, parted, rateUnits, withNumber } from './day'
import { away, left, startText } from './words'

describe('numbers that a person types', () => {
  test.each([['112', '112 kg/ha'], [' 112,5 ', '112.5 kg/ha'], ['0', '0 kg/ha'], ['', null], ['1e3', null], ['-5', null], ['5 kg', null], ['.5', null]])('%j', (typed, want) => {
    expect(withNumber(typed, 'kg/ha')).toBe(want)
  })
  test.each([['112 kg/ha', '112', 'kg/ha'], ['', '', ''], [null, '', '']])('%j', (text, value, unit) => expect(parted(text)).toEqual({ value, unit }))
})

test('units fit the kind of product', () => {
  expect(rateUnits('metric', 'seed')).toEqual(['kg/ha', 'seeds/m2'])
  expect(rateUnits('us', 'seed')).toEqual(['lb/ac', 'seeds/ac'])
  expect(rateUnits('us', 'liquid')).toEqual(['gal/ac'])
  expect(rateUnits('canadian', 'crop protection')).toEqual(['l/ac', 'lb/ac'])
  expect(amountUnits('canadian', 'l')).toEqual(['l'])
  expect(amountUnits('us', 'kg')).toEqual(['lb', 'kg'])
})

test('words', () => {
  expect([away('metric', 119.6), away('us', 100), away('metric', 1234)]).toEqual(['120 m', '328 ft', '1.23 km'])
  expect(startText('seeding, Spring oats 112 kg/ha in tank 1')).toBe('Start: seeding, Spring oats 112 kg/ha in tank 1')
  expect(startText('')).toBe('Work here')
  expect(left({ time_left_s: 5400, runs_out: null, next_pass_short: true })).toBe('1 h 30 min left; not enough for the next pass')
  expect(left({ time_left_s: 40, runs_out: { in_m: 120, in_s: 40, lon_deg: 0, lat_deg: 53 }, next_pass_short: true }, '120 m')).toBe('40 s left; runs out on this pass, in 120 m')
  expect(left({ time_left_s: null, runs_out: null, next_pass_short: null })).toBe('')
})
