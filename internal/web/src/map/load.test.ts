import { afterEach, expect, test, vi } from 'vitest'
import { giveUp, loadTile } from './load'

afterEach(() => { vi.unstubAllGlobals() })

/** hung is a fetch that never answers, and ends only when it is given up. */
function hung() {
  vi.stubGlobal('fetch', (_: string, init: RequestInit) => new Promise((_done, failed) => {
    init.signal?.addEventListener('abort', () => { failed(new DOMException('aborted', 'AbortError')) })
  }))
}

test('what waits is given up when the connection was lost, so that it is asked for anew', async () => {
  hung()
  const load = loadTile({ url: 'tile://tiles/covered/1/0/0.mvt' }, new AbortController())
  giveUp()
  await expect(load).rejects.toThrow('no answer in time')
})

test('what the map takes back stays an abort', async () => {
  hung()
  const outer = new AbortController()
  const load = loadTile({ url: 'tile://tiles/covered/1/0/0.mvt' }, outer)
  outer.abort()
  await expect(load).rejects.toMatchObject({ name: 'AbortError' })
})

test('an empty tile has no bytes, and a refused one is told', async () => {
  vi.stubGlobal('fetch', (path: string) => Promise.resolve(path.includes('empty') ? new Response(null, { status: 204 }) : new Response('', { status: 404 })))
  expect((await loadTile({ url: 'tile://empty' }, new AbortController())).data.byteLength).toBe(0)
  await expect(loadTile({ url: 'tile://gone' }, new AbortController())).rejects.toThrow('tile 404')
})
