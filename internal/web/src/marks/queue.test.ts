import { expect, test } from 'vitest'
import type { KeptMark } from '../wire'
import { heard, settled, shown, tick } from './queue'
import { steady } from './steady'

const mark = (id: string, state: 'open' | 'done' = 'open'): KeptMark => ({
  id, state, revision: 1, kind: 'stone', note: '', field: null, lon_deg: 0, lat_deg: 53, left: '2026-05-14T13:05:10Z', session: null, number: null,
  settled: null, settled_by: null, distance_m: null, bearing_deg: null,
})

test('a tick waits until it is taken', () => {
  const marks = [mark('a'), mark('b')]
  let w = tick({}, mark('a'), 'done')
  expect(shown(marks, w).map((m) => m.state)).toEqual(['done', 'open'])
  for (const status of [0, 401, 403, 429, 500, 503]) {
    w = settled(w, 'a', 'done', status)
    expect(w, `status ${status}`).toEqual({ a: 'done' })
  }
  expect(settled(w, 'a', 'done', 200)).toEqual({})
  expect(settled(w, 'a', 'done', 404)).toEqual({}) // withdrawn meanwhile
})

test('ticked and unticked before it was sent, nothing waits', () => {
  expect(tick(tick({}, mark('a'), 'done'), mark('a'), 'open')).toEqual({})
})

test('ticked anew while the first was under way, the second waits', () => {
  const w = { a: 'open' } as const
  expect(settled(w, 'a', 'done', 200)).toEqual(w)
})

test('what the recorder says already needs no sending', () => {
  expect(heard({ a: 'done', b: 'done', gone: 'done' }, [mark('a', 'done'), mark('b')])).toEqual({ b: 'done' })
})

test('marks keep their places while the machine moves on', () => {
  const ids = (order: string[], now: string[]) => steady(order, now.map((id) => mark(id))).map((m) => m.id)
  expect(ids([], ['b', 'a'])).toEqual(['b', 'a'])
  expect(ids(['b', 'a'], ['a', 'new', 'b'])).toEqual(['b', 'a', 'new'])
  expect(ids(['b', 'gone', 'a'], ['a', 'b'])).toEqual(['b', 'a'])
})
