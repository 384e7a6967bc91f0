// The operator's day: what is offered, what begins, what is in the tanks, and what
// still lacks.

import { expect } from 'vitest'
import { answered, bad, refused, type Api } from '../witness'

/** day makes two products and puts them to work. */
export async function day(api: Api) {
  const seed = { name: 'Kettle oats', kind: 'seed' as const, rate: '112 kg/ha', thousand_kernel_g: 38 }
  refused(await api.POST('/api/products/quick', { body: bad({ ...seed, kind: 'stones' }) }), 422, 'kind')
  refused(await api.POST('/api/products/quick', { body: { ...seed, tank: 1, rate: '112 l/ha' } }), 422, 'rate')
  const oats = answered(await api.POST('/api/products/quick', { body: { ...seed, tank: 1 } }))
  expect(oats.said?.recorded).toBe(true)
  refused(await api.POST('/api/products/quick', { body: { ...seed, tank: 1 } }), 422, 'name')
  answered(await api.POST('/api/products/quick', { body: { name: 'Hollow starter', kind: 'granular', analysis: { n_pct: 12, p2o5_pct: 23 } } }))

  const choices = answered(await api.GET('/api/choices', { params: { query: { field: 'Mill Piece' } } }))
  expect(choices.products.map((p) => p.name)).toContain('Kettle oats')
  refused(await api.GET('/api/choices', { params: { query: { field: 'x'.repeat(400) } } }), 422)

  const body = { field: 'Mill Piece', operation: 'seeding', person: 'Day operator', boundary: true, tanks: [{ tank: 1, product: oats.id, target: '112 kg/ha' }, { tank: 2, product: 'Hollow starter', target: '150 kg/ha' }] }
  for (const path of ['/api/begin/try', '/api/begin'] as const) {
    refused(await api.POST(path, { body: { ...body, tanks: [{ tank: 1, product: oats.id, target: '112 stones' }] } }), 422, 'tanks[0].target')
    refused(await api.POST(path, { body: bad({ ...body, tanks: [{ product: oats.id }] }) }), 422, 'tanks[0].tank')
  }
  expect(answered(await api.POST('/api/begin/try', { body })).recorded).toBe(false)
  const begun = answered(await api.POST('/api/begin', { body }))
  expect(begun.words).toContain('Kettle oats')

  const tank = (n: number) => ({ params: { path: { tank: n } } })
  refused(await api.POST('/api/tanks/{tank}/product', { ...tank(1), body: { product: 'Kettle oats', target: 'much' } }), 422, 'target')
  answered(await api.POST('/api/tanks/{tank}/product', { ...tank(1), body: { product: 'Kettle oats', target: '120 kg/ha' } }))
  refused(await api.POST('/api/tanks/{tank}/refill', { ...tank(1), body: { amount: '1200 kg', level: '300 kg' } }), 422)
  refused(await api.POST('/api/tanks/{tank}/refill', { ...tank(1), body: { amount: '-5 kg' } }), 422, 'amount')
  answered(await api.POST('/api/tanks/{tank}/refill', { ...tank(1), body: { amount: '1200 kg', lot: 'L-204', person: 'Day operator' } }))
  answered(await api.GET('/api/ready'))
}
