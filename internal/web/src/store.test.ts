import { expect, test } from 'vitest'
import { ages, createStore, empty, isOld, reduce, type Model } from './store'
import type { State } from './wire'

export function someState(over: Partial<State> = {}): State {
  return {
    version: '1', events: 1, started: null, time: null, timezone: 'UTC', units: 'metric',
    gnss: { age_s: 0.1, fixes: 1, time: null, quality: 'rtk', lat_deg: 53.3, lon_deg: -0.1, speed_mps: 2, satellites: 14, hdop: 0.7, correction_age_s: 1 },
    controller: { lines: 1, reports: 1, rejected: 0, age_s: null },
    machine: { heading_deg: 0, implement_heading_deg: 0, bar: [], sections: [], sections_metered: [], antenna: null, sections_m: [], operation_width_m: null },
    tanks: [], operation: null, totals: { working_s: 0, distance_m: 0, working_distance_m: 0, gaps: 0, gap_s: 0, marks: 0, clock_steps: 0 },
    recording: { session: null, recording: true, bytes: 0, free_bytes: null, error: null }, sources: [], alarms: [],
    tiles: { revision: 1, work: 0 }, place: { field: null, offer: null }, replay: null, marks_revision: 0,
    ...over,
  }
}

test('ages grow with the time since the daemon was heard', () => {
  const m = reduce(empty, { kind: 'state', state: someState(), at: 1000 })
  expect(ages(m)).toEqual({ link: 0, fix: 0.1, report: null })
  const later = reduce(m, { kind: 'clock', now: 13_000 })
  expect(ages(later)).toEqual({ link: 12, fix: 12.1, report: null })
  expect([isOld(12), isOld(null), isOld(0.5)]).toEqual([true, true, false])
})

test('a field that was declined stays so until another is offered or none', () => {
  const offering = (field: string | null) => someState({ place: { field: null, offer: field === null ? null : { field, inside: true, in_s: null } } })
  let m: Model = reduce(empty, { kind: 'state', state: offering('Long Meadow'), at: 0 })
  m = reduce(m, { kind: 'declined', field: 'Long Meadow' })
  m = reduce(m, { kind: 'state', state: offering('Long Meadow'), at: 1 })
  expect(m.declined).toBe('Long Meadow')
  m = reduce(m, { kind: 'state', state: offering(null), at: 2 })
  expect(m.declined).toBeNull()
})

test('toasts go when their time is over', () => {
  let m = reduce(empty, { kind: 'toast', toast: { id: 1, text: 'Stone marked', until: 10_000, mark: { number: 3, kind: 'stone', at: null } } })
  m = reduce(m, { kind: 'clock', now: 9_999 })
  expect(m.toasts).toHaveLength(1)
  m = reduce(m, { kind: 'clock', now: 10_000 })
  expect(m.toasts).toEqual([])
})

test('the store tells its listeners of changes alone', () => {
  const store = createStore()
  let told = 0
  const stop = store.subscribe(() => told++)
  store.tell({ kind: 'link', link: 'lost' })
  store.tell({ kind: 'link', link: 'lost' })
  stop()
  store.tell({ kind: 'link', link: 'live' })
  expect(told).toBe(1)
})
