// The farm's catalogue: each kind of item through its whole life, then all of it as
// one file.

import { expect } from 'vitest'
import type { paths } from '../../src/api.gen'
import { answered, bad, refused, type Api } from '../witness'

type Kind = 'fields' | 'seasons' | 'plans' | 'implements' | 'tractors' | 'products' | 'people'
type Body<K extends Kind> = paths[`/api/catalog/${K}`]['post']['requestBody']['content']['application/json']
interface Item { id: string; revision: number; note?: string; archived: boolean }

/** Loose is the client as all kinds have it alike; what is sent is typed by the kind. */
interface Loose {
  GET: (path: string, more?: object) => Promise<{ data?: unknown; error?: unknown; response: Response }>
  POST: Loose['GET']
  PUT: Loose['GET']
  DELETE: Loose['GET']
}

/** born adds an item, after one with a spoiled member was refused; some kinds are listed by what they are of. */
async function born<K extends Kind>(api: Api, kind: K, body: Body<K>, spoiled: Record<string, unknown>, member: string, of?: string): Promise<Item> {
  const loose = api as unknown as Loose
  const path = `/api/catalog/${kind}`
  refused(await loose.POST(path, { body: { ...body, ...spoiled } }), 422, member)
  const item = answered(await loose.POST(path, { body })) as Item
  const { items } = answered(await loose.GET(path, { params: { query: { of } } })) as { items: Item[] }
  expect(items.map((i) => i.id)).toContain(item.id)
  expect(answered(await loose.GET(`${path}/{id}`, { params: { path: { id: item.id } } }))).toMatchObject(body as object)
  refused(await loose.GET(`${path}/{id}`, { params: { path: { id: '018f0000-0000-7000-8000-000000000000' } } }), 404)
  return item
}

/** lived changes an item, is refused a change of what is no more, and puts it away and takes it out again. */
async function lived<K extends Kind>(api: Api, kind: K, body: Body<K>, item: Item): Promise<Item> {
  const loose = api as unknown as Loose
  const path = `/api/catalog/${kind}/{id}`
  const at = { params: { path: { id: item.id } } }
  const changed = answered(await loose.PUT(path, { ...at, body: { ...body, revision: item.revision, note: 'looked over in spring' } })) as Item
  expect(changed).toMatchObject({ note: 'looked over in spring', revision: item.revision + 1 })
  const late = await loose.PUT(path, { ...at, body: { ...body, revision: item.revision, note: 'too late' } })
  refused(late, 409)
  expect((late.error as { current?: Item }).current).toMatchObject({ id: item.id, note: 'looked over in spring' })
  refused(await loose.POST(`${path}/archive`, { ...at, body: { revision: changed.revision } }), 422, 'archived')
  refused(await loose.POST(`${path}/archive`, { ...at, body: { revision: item.revision, archived: true } }), 409)
  const away = answered(await loose.POST(`${path}/archive`, { ...at, body: { revision: changed.revision, archived: true } })) as Item
  expect(away.archived).toBe(true)
  return answered(await loose.POST(`${path}/archive`, { ...at, body: { revision: away.revision, archived: false } })) as Item
}

/** died removes an item. */
async function died(api: Api, kind: Kind, item: Item, became: 'deleted' | 'archived') {
  const loose = api as unknown as Loose
  const path = `/api/catalog/${kind}/{id}`
  const at = (revision: number) => ({ params: { path: { id: item.id }, query: { revision } } })
  refused(await loose.DELETE(path, at(item.revision + 7)), 409)
  expect(answered(await loose.DELETE(path, at(item.revision)))).toMatchObject({ became })
}

/** catalogue takes a season of Long Meadow north from its field to its plan and back. */
export async function catalogue(api: Api) {
  const ring = [[0.011, 53.31], [0.016, 53.31], [0.016, 53.313], [0.011, 53.313], [0.011, 53.31]]
  const field: Body<'fields'> = { name: 'Long Meadow north', boundary: { type: 'MultiPolygon', coordinates: [[ring]] } }
  const meadow = await born(api, 'fields', field, { name: '' }, 'name')
  const season: Body<'seasons'> = { field: meadow.id, crop: 'Spring oats', crop_code: 'AVESA', year: 2026 }
  const oats = await born(api, 'seasons', season, { year: 17 }, 'year', meadow.id)
  const product: Body<'products'> = { name: 'Firth oats', kind: 'seed', thousand_kernel_g: 38, germination_pct: 95 }
  const seed = await born(api, 'products', product, { germination_pct: 130 }, 'germination_pct')
  const plan: Body<'plans'> = { season: oats.id, order: 1, operation: 'seeding', product: seed.id, rate: '180 kg/ha', tank: 1 }
  const sowing = await born(api, 'plans', plan, { rate: '180 stones' }, 'rate', oats.id)
  const drill: Body<'implements'> = { name: '12 m drill, spare', operation: 'seeding', mount: 'towed', hitch_to_axle_m: 6, hitch_to_bar_m: 7.2, sections_m: [3, 3, 3, 3] }
  const implement = await born(api, 'implements', drill, { mount: 'carried' }, 'mount')
  const wheels: Body<'tractors'> = { name: 'Red tractor', antenna_to_hitch_m: 1.8 }
  const tractor = await born(api, 'tractors', wheels, { antenna_to_hitch_m: 'far' }, 'antenna_to_hitch_m')
  const operator: Body<'people'> = { name: 'Day operator', licence: 'PA2-0001' }
  const person = await born(api, 'people', operator, { name: 5 }, 'name')

  const { items } = answered(await api.GET('/api/catalog/fields'))
  expect(items.find((f) => f.id === meadow.id)).not.toHaveProperty('boundary')
  expect(items.find((f) => f.id === meadow.id)?.area_m2).toBeGreaterThan(100_000)
  expect(answered(await api.GET('/api/catalog/seasons', { params: { query: { of: meadow.id } } })).items.map((s) => s.id)).toEqual([oats.id])

  const worked = answered(await api.POST('/api/catalog/work-out', { body: { product, plants_per_m2: 300, survival_pct: 90 } }))
  expect(worked.seeds_per_m2).toBeCloseTo(300 / (0.95 * 0.9), 6)
  expect(worked.seed_kg_per_m2).toBeCloseTo(300 / (0.95 * 0.9) * 38e-6, 9)
  refused(await api.POST('/api/catalog/work-out', { body: bad({ plants_per_m2: 300 }) }), 422, 'product')

  await files(api)

  // what something refers to is put away, what nothing refers to is gone
  const still = {
    plans: await lived(api, 'plans', plan, sowing), seasons: await lived(api, 'seasons', season, oats), products: await lived(api, 'products', product, seed),
    fields: await lived(api, 'fields', field, meadow), implements: await lived(api, 'implements', drill, implement),
    tractors: await lived(api, 'tractors', wheels, tractor), people: await lived(api, 'people', operator, person),
  }
  await died(api, 'products', still.products, 'archived')
  for (const kind of ['plans', 'seasons', 'fields', 'implements', 'tractors', 'people'] as const) await died(api, kind, still[kind], 'deleted')
}

/** files takes the catalogue out and puts it in again. */
async function files(api: Api) {
  const yaml = answered(await api.GET('/api/catalog/export', { params: { query: { format: 'yaml' } }, parseAs: 'text' })) as string
  expect(yaml).toContain('Long Meadow')
  const whole = answered(await api.GET('/api/catalog/export', { params: { query: { format: 'json' } } }))
  answered(await api.POST('/api/catalog/import', { params: { query: { replace: true } }, body: bad(whole) }))
  answered(await api.POST('/api/catalog/import', {
    params: { query: { replace: true } }, body: bad(yaml), headers: { 'Content-Type': 'application/yaml' }, bodySerializer: (text: unknown) => text as string,
  }))
  refused(await api.POST('/api/catalog/import', { params: { query: {} }, body: bad({ fields: 'all' }) }), 422)
}
