import { expect, test } from 'vitest'
import { alarmTitle, clock, howOld, offTarget, offerText, qualityWord, sectionsOn } from './words'

test.each([[0.4, '0 s'], [12.2, '12 s'], [119, '119 s'], [120, '2 min'], [7200, '2 h']])('%d s is %s', (s, want) => {
  expect(howOld(s)).toBe(want)
})

test.each([
  [{ field: 'Long Meadow', inside: false, in_s: 12.4 }, 'Entering Long Meadow in 12 s'],
  [{ field: 'Long Meadow', inside: false, in_s: null }, 'Coming to Long Meadow'],
  [{ field: 'Long Meadow', inside: true, in_s: null }, 'You are in Long Meadow'],
])('offer %#', (offer, want) => expect(offerText(offer)).toBe(want))

test('a quality that is not known yet is shown as it came', () => {
  expect([null, 'rtk', 'float', 'splendid'].map(qualityWord)).toEqual(['none yet', 'RTK fixed', 'RTK float', 'splendid'])
})

test.each([[112, 112, 'on target'], [111.9, 112, 'on target'], [123.2, 112, '+10\u00a0%'], [0, 112, 'off'], [56, 112, '−50\u00a0%'], [null, 112, null], [5, null, null], [5, 0, null]])('rate %d of %d', (rate, target, want) => {
  expect(offTarget(rate, target)).toBe(want)
})

test('sections', () => {
  expect(sectionsOn([])).toBe('unknown')
  expect(sectionsOn(['unknown', 'unknown'])).toBe('unknown, of 2')
  expect(sectionsOn(['on', 'off', 'on'])).toBe('2 of 3')
})

// British summer time is UTC+1 (common practice, no source).
test('clock', () => {
  expect(clock('2026-05-14T13:05:10.200Z', 'Europe/London')).toBe('14:05:10')
  expect(clock('2026-05-14T13:05:10.200Z', 'Nowhere/Else')).toBe('13:05:10 UTC')
  expect(clock(null, 'UTC')).toBe('unknown')
  expect(clock('soon', 'UTC')).toBe('unknown')
})

test('an alarm that is not known yet has a title', () => {
  expect(alarmTitle({ alarm: 'something_new', subject: null })).toBe('Take note')
  expect(alarmTitle({ alarm: 'tank_low', subject: 'tank 2' })).toBe('Tank 2 low')
  expect(alarmTitle({ alarm: 'tank_short', subject: 'tank 1' })).toBe('Tank 1 not enough')
  expect(alarmTitle({ alarm: 'section_off', subject: 'section 3' })).toBe('Section 3 off')
  expect(alarmTitle({ alarm: 'rate_off_target', subject: 'tank 1' })).toBe('Rate off target, tank 1')
})
