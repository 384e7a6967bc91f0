// Recorded work: what there is of it, what it adds up to, and what a record of it
// still lacks.

import { expect } from 'vitest'
import { until } from '../../browser/daemon.mjs'
import { answered, bad, refused, type Api } from '../witness'

/** recorded reads the work of a finished session in Mill Piece. */
export async function recorded(api: Api) {
  const work = await until(async () => {
    const list = answered(await api.GET('/api/work'))
    return list.operations.length > 1 ? list : null
  }, 'the recorded sessions are worked out')
  expect(work.total).toBe(work.operations.length)
  const picked = answered(await api.GET('/api/work', { params: { query: { field: 'Mill Piece', limit: 1 } } }))
  expect(picked.total).toBe(work.total)
  expect(picked.operations.length).toBe(1)
  expect(answered(await api.GET('/api/work', { params: { query: { field: 'Nowhere Piece' } } })).total).toBe(0)
  refused(await api.GET('/api/work', { params: { query: { from: 'yesterday' } } }), 422)
  refused(await api.GET('/api/work', { params: { query: { limit: bad('many') } } }), 422)

  const [first] = picked.operations
  if (first === undefined) throw new Error('no operation')
  const { session, operation } = first
  const path = { params: { path: { session, operation } } }
  expect(answered(await api.GET('/api/work/{session}', { params: { path: { session } } })).operations.length).toBeGreaterThan(0)
  refused(await api.GET('/api/work/{session}', { params: { path: { session: '999999-20300101T000000Z' } } }), 404)
  answered(await api.GET('/api/work/{session}/{operation}/record', path))
  refused(await api.GET('/api/work/{session}/{operation}/record', { params: { path: { session, operation: 99 } } }), 404)

  const { caution, lists } = answered(await api.GET('/api/work/{session}/{operation}/complete', path))
  expect(caution).toContain('licensed person')
  expect(lists.map((l) => l.rules)).toEqual(['eu-1107-2009-67', 'eu-2023-564', 'us-7cfr110', 'us-40cfr171'])

  const ground = answered(await api.GET('/api/work/{session}/ground', { params: { path: { session } } })) as { type?: string; features?: unknown[] }
  expect(ground.type).toBe('FeatureCollection')
  expect(ground.features?.length).toBeGreaterThan(0)

  for (const by of ['field', 'crop', 'product', 'person', 'season', 'operation', 'session'] as const) {
    answered(await api.GET('/api/totals', { params: { query: { by, field: 'Mill Piece' } } }))
  }
  refused(await api.GET('/api/totals', { params: { query: { by: bad('moon') } } }), 422)
  answered(await api.GET('/api/progress', { params: { query: { season: '2026' } } }))
  refused(await api.GET('/api/progress', { params: { query: { season: '' } } }), 422)

  expect(answered(await api.GET('/past/{session}/', { params: { path: { session } }, parseAs: 'text' }))).toContain('<!doctype html>')
  refused(await api.GET('/past/{session}/', { params: { path: { session: '999999-20300101T000000Z' } } }), 404)
}
