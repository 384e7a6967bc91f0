// A machine at work: what it does, what it is told, and what can be had of it.

import { expect } from 'vitest'
import { answered, bad, refused, type Api, type Witness } from '../witness'
import { until } from '../../browser/daemon.mjs'

/** reading asks for all that can be read of a live run. */
export async function reading(api: Api, witness: Witness) {
  expect(answered(await api.GET('/', { parseAs: 'text' }))).toContain('<!doctype html>')
  expect(answered(await api.GET('/healthz')).status).not.toBe('')
  expect(answered(await api.GET('/metrics', { parseAs: 'text' }))).toContain('drawbar_area_square_meters')
  expect(answered(await api.GET('/openapi.json'))).toHaveProperty('openapi', '3.1.0')
  const state = await until(async () => {
    const s = answered(await api.GET('/api/state'))
    return s.operation !== null && s.operation.area.covered_m2 > 500 ? s : null
  }, 'some ground is covered')
  expect(state.operation?.field).toBe('Mill Piece')
  expect(answered(await api.GET('/api/sources')).sources.length).toBeGreaterThan(0)
  expect(answered(await api.GET('/api/sessions')).sessions.length).toBeGreaterThan(0)
  answered(await api.GET('/api/alarms'))
  expect(answered(await api.GET('/api/arrivals')).sources.length).toBeGreaterThan(0)
  expect(answered(await api.GET('/api/fields')).fields.map((f) => f.name)).toContain('Mill Piece')
  const outline = answered(await api.GET('/api/boundary/work'))
  expect(outline.boundary !== null || outline.reason !== null).toBe(true)
  await tile(api)
  await events(api, witness)
}

type Place = { fix?: { lat_deg: number; lon_deg: number } | null } & Record<string, unknown>

/** tile asks for the tile that the machine is in (Web Mercator, zoom 16) until it has worked there, and for one that is no tile. */
async function tile(api: Api) {
  const n = 2 ** 16
  const { path, data } = await until(async () => {
    const { lat_deg: lat, lon_deg: lon } = position(answered(await api.GET('/api/state')) as unknown as Place)
    const rad = lat * Math.PI / 180
    const path = { layer: 'covered' as const, z: 16, x: Math.floor((lon + 180) / 360 * n), y: Math.floor((1 - Math.asinh(Math.tan(rad)) / Math.PI) / 2 * n) }
    const { response, data } = await api.GET('/tiles/{layer}/{z}/{x}/{y}.mvt', { params: { path }, parseAs: 'arrayBuffer' })
    return response.status === 200 ? { path, data } : null // the machine has come to a tile in which it has not worked yet
  }, 'a tile has ground')
  expect((data as unknown as ArrayBuffer).byteLength).toBeGreaterThan(20)
  refused(await api.GET('/tiles/{layer}/{z}/{x}/{y}.mvt', { params: { path: { ...path, z: 99 } } }), 404)
}

/** position finds the first pair of lat_deg and lon_deg in a state. */
function position(value: unknown): { lat_deg: number; lon_deg: number } {
  const stack: unknown[] = [value]
  while (stack.length > 0) {
    const v = stack.shift()
    if (typeof v !== 'object' || v === null) continue
    if ('lat_deg' in v && typeof v.lat_deg === 'number' && 'lon_deg' in v && typeof v.lon_deg === 'number') return { lat_deg: v.lat_deg, lon_deg: v.lon_deg }
    stack.push(...Object.values(v))
  }
  throw new Error('the state has no position')
}

const kinds: Record<string, string> = { state: 'State', work: 'WorkEvent', redraw: 'Redraw', alarm: 'AlarmEvent', mark: 'MarkEvent', missed: 'Missed' }

/** events reads the stream until it has shown state and work, and holds each event against its schema. */
async function events(api: Api, witness: Witness) {
  const ended = new AbortController()
  const { response } = await api.GET('/events', { params: { query: { work: 0 } }, parseAs: 'stream', signal: ended.signal })
  expect(response.status).toBe(200)
  const seen = new Set<string>()
  let text = ''
  const give = setTimeout(() => { ended.abort(new Error(`in 20 s the stream brought only ${[...seen].join(', ')}`)) }, 20_000)
  const reader = (response.body as ReadableStream<Uint8Array<ArrayBuffer>>).pipeThrough(new TextDecoderStream()).getReader()
  while (!(seen.has('state') && (seen.has('work') || seen.has('redraw')))) {
    const { value, done } = await reader.read()
    if (done) throw new Error('the stream ended')
    text += value
    const blocks = text.split('\n\n')
    text = blocks.pop() ?? ''
    for (const block of blocks) {
      const kind = /^event: ?(.*)$/m.exec(block)?.[1]
      const data = [...block.matchAll(/^data: ?(.*)$/gm)].map((m) => m[1]).join('\n')
      if (kind === undefined) continue
      const name = kinds[kind]
      if (name === undefined) throw new Error(`the document tells of no event ${kind}`)
      witness.matches(name, JSON.parse(data), `event ${kind}`)
      seen.add(kind)
    }
  }
  clearTimeout(give)
  await reader.cancel()
}

/** saying tells the session what an operator does. */
export async function saying(api: Api) {
  refused(await api.POST('/api/operator', { body: bad({ mark: { kind: 'stone', at: 'roof' } }) }), 422, 'mark.at')
  refused(await api.POST('/api/operator', { body: bad({ harrow: true }) }), 422, 'harrow')
  refused(await api.POST('/api/operator', { body: bad({ tanks: [{ tank: 1, target: '112 stones' }] }) }), 422, 'tanks[0].target')
  answered(await api.POST('/api/operator', { body: { person: 'Day operator' } }))
  answered(await api.POST('/api/operator', { body: { weather: { wind_mps: 3, wind_from_deg: 250, temperature_c: 14, humidity_pct: 60 } } }))
  answered(await api.POST('/api/operator', { body: { mark: { kind: 'stone', note: 'by the gate', at: 'bar' } } }))
  answered(await api.POST('/api/operator', { body: { tanks: [{ tank: 1, product: { name: 'Spring oats', kind: 'seed' }, target: '112 kg/ha' }] } }))
}

/** steering changes field and boundary. */
export async function steering(api: Api) {
  refused(await api.POST('/api/boundary/drive', { body: bad({ action: 'fly' }) }), 422, 'action')
  expect(answered(await api.POST('/api/boundary/drive', { body: { action: 'start', edge: 'antenna', offset_m: 0 } })).driving).toBe(true)
  expect(answered(await api.GET('/api/boundary/drive')).driving).toBe(true)
  expect(answered(await api.POST('/api/boundary/drive', { body: { action: 'cancel' } })).driving).toBe(false)
  refused(await api.POST('/api/fields/accept', { body: { field: 'Nowhere Piece' } }), 404)
  refused(await api.POST('/api/fields/accept', { body: bad({ field: 7 }) }), 422, 'field')
  answered(await api.POST('/api/fields/accept', { body: { field: 'Mill Piece' } }))
  refused(await api.POST('/api/fields/decline', { body: bad({}) }), 422, 'field')
  answered(await api.POST('/api/fields/decline', { body: { field: 'Mill Piece' } }))
}

/** trying reads the lines of the controller with another profile. */
export async function trying(api: Api) {
  refused(await api.POST('/api/arrivals/try', { body: bad({}) }), 422, 'line')
  const trial = answered(await api.POST('/api/arrivals/try', { body: { line: { kind: 'keyvalue' } } }))
  expect(trial.faults).toEqual([])
  expect(trial.reports).toBeGreaterThan(0)
}
