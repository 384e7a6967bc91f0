// Marks of all sessions: listed, handed over, changed and ticked off.

import { expect } from 'vitest'
import { until } from '../../browser/daemon.mjs'
import { answered, bad, refused, type Api } from '../witness'

/** marks wants a mark of the kind "stone" with the note "by the gate" to have been left. */
export async function marks(api: Api) {
  const list = (state: 'open' | 'done' | 'all') => api.GET('/api/marks', { params: { query: { field: 'Mill Piece', state, near: true } } })
  const mark = await until(async () => answered(await list('open')).marks.find((m) => m.note === 'by the gate') ?? null, 'the mark is kept')
  expect(mark.distance_m).not.toBeNull()
  refused(await api.GET('/api/marks', { params: { query: { state: bad('lost') } } }), 422)

  const query = { params: { query: { field: 'Mill Piece', state: 'all' as const } }, parseAs: 'text' as const }
  expect(answered(await api.GET('/api/marks.gpx', query))).toContain('by the gate')
  expect(answered(await api.GET('/api/marks.kml', query))).toContain('by the gate')
  expect(JSON.parse(answered(await api.GET('/api/marks.geojson', query)) as string)).toHaveProperty('type', 'FeatureCollection')
  expect(answered(await api.GET('/marks', { parseAs: 'text' }))).toContain('<!doctype html>')

  const path = { params: { path: { id: mark.id } } }
  refused(await api.POST('/api/marks/{id}', { ...path, body: bad({ state: 'gone' }) }), 422, 'state')
  refused(await api.POST('/api/marks/{id}', { ...path, body: bad({ colour: 'red' }) }), 422, 'colour')
  refused(await api.POST('/api/marks/{id}', { params: { path: { id: 'no-such-mark' } }, body: { state: 'done' } }), 404)
  const noted = answered(await api.POST('/api/marks/{id}', { ...path, body: { revision: mark.revision, note: 'by the gate, lifted' } }))
  expect(noted.note).toBe('by the gate, lifted')
  refused(await api.POST('/api/marks/{id}', { ...path, body: { revision: mark.revision, note: 'too late' } }), 409)
  expect(answered(await api.POST('/api/marks/{id}', { ...path, body: { state: 'done' } })).state).toBe('done')
  await until(async () => answered(await list('done')).marks.some((m) => m.id === mark.id), 'the mark is done')
}
