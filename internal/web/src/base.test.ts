import { expect, test } from 'vitest'
import { baseOf, placed } from './base'

test('the page knows where it stands', () => {
  expect(baseOf('/')).toBe('')
  expect(baseOf('/past/000017-20260514T130510Z/')).toBe('/past/000017-20260514T130510Z')
  expect(baseOf('/past/000017-20260514T130510Z/tiles/x')).toBe('/past/000017-20260514T130510Z')
  expect(baseOf('/past/')).toBe('')
  expect(baseOf('/past/000017')).toBe('')
  expect(baseOf('/marks/past/x/')).toBe('')
})

test('what is said on the page of a past session stays with it', () => {
  const at = '/past/S'
  for (const path of ['/api/state', '/api/operator', '/api/tanks/1/refill', '/api/workers', '/events?work=3', '/api/replay']) expect(placed(path, at)).toBe(at + path)
  for (const path of ['/api/access', '/api/access/devices', '/api/work?field=x', '/api/work/S/corrections', '/api/totals?by=field', '/api/catalog/fields']) expect(placed(path, at)).toBe(path)
  expect(placed('/api/state', '')).toBe('/api/state')
})
