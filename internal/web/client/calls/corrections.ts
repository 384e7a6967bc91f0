// What is said later of recorded work: corrections tried and made, taken back, and
// operations joined.

import { expect } from 'vitest'
import { until } from '../../browser/daemon.mjs'
import { answered, bad, refused, type Api } from '../witness'

const middle = (from: string, to: string) => new Date((Date.parse(from) + Date.parse(to)) / 2).toISOString()

/** corrections mends the two recorded sessions of Mill Piece, and leaves them as they were. */
export async function corrections(api: Api) {
  const { operations } = answered(await api.GET('/api/work', { params: { query: { field: 'Mill Piece' } } }))
  const [one, two] = operations
  if (one === undefined || two === undefined || one.start === null || one.end === null || two.start === null || two.end === null) throw new Error(`two operations are wanted, there are ${operations.length}`)
  const at = { params: { path: { session: one.session } } }
  const correction = { from: one.start, to: one.end, why: 'somebody else drove', by: 'Office', person: 'Night operator' }

  refused(await api.POST('/api/work/{session}/corrections/preview', { ...at, body: bad({ ...correction, from: 'noon' }) }), 422, 'from')
  const { preview: id } = answered(await api.POST('/api/work/{session}/corrections/preview', { ...at, body: correction }))
  const path = { params: { path: { id } } }
  const preview = await until(async () => {
    const p = answered(await api.GET('/api/previews/{id}', path))
    return p.state === 'working' ? null : p
  }, 'the trial has ended', 30_000)
  expect(preview.state).toBe('done')
  expect(preview.after?.[0]?.people.map((p) => p.name)).toContain('Night operator')
  refused(await api.GET('/api/previews/{id}', { params: { path: { id: 'none' } } }), 404)

  refused(await api.POST('/api/work/{session}/corrections', { ...at, body: bad({ ...correction, why: undefined }) }), 422, 'why')
  refused(await api.POST('/api/work/{session}/corrections', { params: { path: { session: '999999-20300101T000000Z' } }, body: correction }), 404)
  const { number } = answered(await api.POST('/api/work/{session}/corrections', { ...at, body: correction }))
  await until(async () => {
    const { operations: now } = answered(await api.GET('/api/work', { params: { query: { person: 'Night operator' } } }))
    return now.some((o) => o.session === one.session)
  }, 'the record is worked out anew', 30_000)
  expect(JSON.stringify(answered(await api.GET('/api/work/{session}/corrections', at)))).toContain('somebody else drove')
  answered(await api.GET('/api/work/{session}/{operation}/implement', { params: { path: { session: one.session, operation: one.operation } } }))
  const made = { params: { path: { session: one.session, number } } }
  refused(await api.POST('/api/work/{session}/corrections/{number}/undo', { ...made, body: bad({}) }), 422, 'why')
  answered(await api.POST('/api/work/{session}/corrections/{number}/undo', { ...made, body: { why: 'it was right as it was', by: 'Office' } }))

  const join = { join: [{ session: one.session, at: middle(one.start, one.end) }, { session: two.session, at: middle(two.start, two.end) }], why: 'one job on two days' }
  refused(await api.POST('/api/joins', { body: { ...join, join: join.join.slice(0, 1) } }), 422, 'join')
  const joined = answered(await api.POST('/api/joins', { body: join }))
  expect(answered(await api.GET('/api/joins')).joins.map((j) => j.number)).toContain(joined.number)
  const undo = { params: { path: { number: joined.number } } }
  refused(await api.POST('/api/joins/{number}/undo', { ...undo, body: bad({ why: 5 }) }), 422, 'why')
  answered(await api.POST('/api/joins/{number}/undo', { ...undo, body: { why: 'two jobs after all' } }))

  const query = (figure: number) => ({ params: { query: { figure, weighed: 3210, metered: 3100 } } })
  expect(answered(await api.GET('/api/calibration', query(0.62))).factor).toBeCloseTo(3210 / 3100, 6)
  refused(await api.GET('/api/calibration', query(-1)), 422)
}
