// Who may look and who may change things: a device is paired, made an operator, and
// locked out again.

import { expect } from 'vitest'
import { answered, bad, refused, type Api } from '../witness'

/** access needs the daemon's own machine, and a way to it as another device has. */
export async function access(here: Api, away: (cookie: string) => Api) {
  expect(answered(await here.GET('/api/access')).role).toBe('operator')
  const { code, role } = answered(await here.POST('/api/access/code', { body: { role: 'viewer' } }))
  expect(role).toBe('viewer')
  expect(answered(await here.GET('/api/access/code')).code).toBe(code)
  refused(await here.POST('/api/access/code', { body: bad({ role: 'owner' }) }), 422, 'role')

  const stranger = away('')
  refused(await stranger.GET('/api/state'), 401)
  refused(await stranger.POST('/api/access/pair', { body: { code: '0000-0000', name: 'phone' } }), 403)
  const paired = await stranger.POST('/api/access/pair', { body: { code, name: 'phone at Kettle Hollow' } })
  expect(answered(paired).role).toBe('viewer')
  const cookie = (paired.response.headers.get('Set-Cookie') ?? '').split(';')[0] ?? ''
  const phone = away(cookie)
  expect(answered(await phone.GET('/api/access'))).toMatchObject({ role: 'viewer', local: false, device: 'phone at Kettle Hollow' })
  refused(await phone.POST('/api/operator', { body: { note: 'from a viewer' } }), 403)

  const { devices } = answered(await here.GET('/api/access/devices'))
  const device = devices.find((d) => d.name === 'phone at Kettle Hollow')
  if (device === undefined) throw new Error(`the phone is not among ${JSON.stringify(devices)}`)
  const path = { params: { path: { id: device.id } } }
  refused(await here.POST('/api/access/devices/{id}', { ...path, body: bad({ role: 3 }) }), 422, 'role')
  expect(answered(await here.POST('/api/access/devices/{id}', { ...path, body: { role: 'operator' } })).role).toBe('operator')
  answered(await phone.POST('/api/operator', { body: { note: 'from an operator' } }))
  answered(await here.DELETE('/api/access/devices/{id}', path))
  refused(await here.DELETE('/api/access/devices/{id}', path), 404)
  refused(await phone.GET('/api/state'), 401)
}
