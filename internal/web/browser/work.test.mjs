// From the first start to ten minutes of work, marks, and what the page weighs.

import assert from 'node:assert/strict'
import { test as check } from 'node:test'
import { demo, until, pause } from './daemon.mjs'
import { figure } from './figures.mjs'
import { differing, place, mapPixels } from './pixels.mjs'
import { acknowledge, hook, open, painted, screen, shot, tablet, test, watch, without } from './screen.mjs'

check('first start', { skip: without, timeout: 120_000 }, async (t) => {
  const daemon = await demo(t, 8)
  const context = await screen(t)
  const page = context.pages()[0]
  const seen = watch(page)
  const client = await context.newCDPSession(page)
  const weight = new Map()
  await client.send('Network.enable')
  client.on('Network.responseReceived', ({ requestId, response }) => weight.set(requestId, { url: response.url, bytes: 0 }))
  client.on('Network.loadingFinished', ({ requestId, encodedDataLength }) => { const r = weight.get(requestId); if (r !== undefined) r.bytes = encodedDataLength })
  // so that there is ground to paint
  await until(async () => (await daemon.get('/api/state')).operation.area.covered_m2 > 100, 'the demo works')
  const began = performance.now()
  await page.goto(daemon.origin)
  await page.waitForSelector(test('safety'))
  await shot(page, 'safety')
  const safe = performance.now()
  await acknowledge(page)
  const h = await painted(page)
  const took = performance.now() - began
  assert.ok(h.work > 0, `the first thing that is painted has work: ${JSON.stringify(h)}`)
  figure(`first start: safety line after ${(safe - began).toFixed(0)} ms, ground painted after ${took.toFixed(0)} ms (goal 2,000 on a tablet)`)
  await until(() => page.evaluate(() => navigator.serviceWorker.controller !== null), 'the service worker has taken over')
  await pause(500)
  const own = [...weight.values()].filter((r) => new URL(r.url).origin === daemon.origin && !/\/(tiles|api|events)/.test(r.url))
  const bytes = own.reduce((sum, r) => sum + r.bytes, 0)
  figure(`page weight: ${(bytes / 1000).toFixed(0)} kB in ${own.length} files of the first load (goal 600 kB)`)
  assert.ok(own.length >= 3 && bytes > 100_000, `the files were counted: ${JSON.stringify(own)}`)
  assert.ok(bytes < 600_000, `first load is ${bytes} bytes: ${JSON.stringify(own)}`)
  assert.deepEqual(seen, { errors: [], failed: [], foreign: [], requests: seen.requests })
})

check('ten minutes of work', { skip: without, timeout: 480_000 }, async (t) => {
  const daemon = await demo(t, 10)
  const context = await screen(t)
  const page = context.pages()[0]
  const seen = watch(page)
  await open(context, daemon.origin)
  await painted(page)
  await page.click(test('orientation')) // north up: the camera is the middle of the map
  await until(async () => (await hook(page)).camera.bearing === 0, 'north is up')

  const begin = await daemon.get('/api/state')
  const worked = (s) => (Date.parse(s.time) - Date.parse(begin.time)) / 1000
  let behind = 0
  let state = begin
  let asked = 0
  await until(async () => {
    state = await daemon.get('/api/state')
    const h = await hook(page)
    asked++
    behind = Math.max(behind, state.tiles.revision - h.revision)
    assert.ok(h.pieces <= 20_000, `live pieces are given up once tiles have them: ${h.pieces}`)
    if (worked(state) > 300 && asked > 0) { await shot(page, 'work-day'); asked = -Infinity }
    await pause(500)
    return worked(state) >= 600
  }, 'ten minutes of work are done', 240_000)
  await shot(page, 'work-day-late')

  await until(async () => { state = await daemon.get('/api/state'); return state.machine.sections.every((s) => s === 'off') && state.gnss.speed_mps < 0.05 && state.operation.area.covered_m2 > 20_000 }, 'the field is done', 180_000)
  await until(async () => {
    const [h, s] = [await hook(page), await daemon.get('/api/state')]
    return h.revision === s.tiles.revision && h.work >= s.tiles.work
  }, 'the page has drawn the latest tiles and pieces')
  // what came piece by piece looks like what a fresh page fetches
  for (let i = 0; i < 2; i++) await page.click(test('zoom-out'))
  const stands = () => page.waitForSelector('.map-pane.is-old') // nothing arrives any more, and that is seen
  await stands()
  const live = await settled(page)
  await shot(page, 'work-done-live')
  const at = (await hook(page)).camera
  await page.reload()
  await acknowledge(page)
  await painted(page)
  for (let i = 0; i < 2; i++) await page.click(test('zoom-out'))
  await until(async () => Math.abs((await hook(page)).camera.zoom - at.zoom) < 1e-6, 'the camera stands as before')
  await stands()
  const fresh = await settled(page)
  const share = differing(live, fresh)
  figure(`after the work, pixels that a fresh page shows otherwise: ${(share * 1e6).toFixed(0)} ppm; tiles were at most ${behind} revisions behind`)
  await shot(page, 'work-done-day')
  assert.ok(share < 0.002, `live pieces and tiles agree: ${(share * 100).toFixed(2)} % of the pixels differ`)
  assert.deepEqual(seen, { errors: [], failed: [], foreign: [], requests: seen.requests })
})

/** settled is what the map shows once three pictures of it, one after the other, are the same. */
async function settled(page) {
  let same = 0
  let last = await mapPixels(page)
  await until(async () => {
    await pause(700)
    const now = await mapPixels(page)
    same = differing(last, now) < 1e-5 ? same + 1 : 0
    last = now
    return same >= 2
  }, 'the map stands still', 40_000)
  return last
}

check('a mark with one touch, and undone', { skip: without, timeout: 240_000 }, async (t) => {
  const daemon = await demo(t, 1) // so that the mark stays in sight
  const context = await screen(t, { ...tablet, hasTouch: true })
  const page = await open(context, daemon.origin)
  await painted(page)
  await page.tap(test('orientation'))
  await until(async () => (await daemon.get('/api/state')).operation.area.covered_m2 > 100, 'the demo works', 60_000)
  const before = (await daemon.get('/api/state')).totals.marks
  const left = await marksOf(daemon.origin)
  const began = performance.now()
  await page.tap(test('mark'))
  await page.waitForSelector(test('undo'))
  const kinds = await page.$$eval('.mark-kind', (all) => all.map((b) => b.dataset.test))
  assert.deepEqual(kinds, ['mark-stone', 'mark-wet-spot', 'mark-weeds', 'mark-obstacle', 'mark-damage', 'mark-come-back'])
  assert.equal(await page.getAttribute(test('mark-stone'), 'aria-pressed'), 'true')
  await shot(page, 'mark')
  figure(`a mark: from the touch to its acknowledgement ${(performance.now() - began).toFixed(0)} ms`)
  await until(async () => (await daemon.get('/api/state')).totals.marks === before + 1, 'the mark counts')
  // The tile that carries it, zoom 16: some 2.4 tiles to a kilometre here. Web Mercator as in the tile scheme of the map.
  const { lon_deg: lon, lat_deg: lat } = await left.first
  const n = 2 ** 16
  const [x, y] = [Math.floor(((lon + 180) / 360) * n), Math.floor(((1 - Math.asinh(Math.tan((lat * Math.PI) / 180)) / Math.PI) / 2) * n)]
  const tile = async () => Buffer.from(await (await fetch(`${daemon.origin}/tiles/marks/16/${x}/${y}.mvt`)).arrayBuffer())
  const around = async () => { // a mark at the edge may lie in the next tile
    const text = (await tile()).toString('latin1')
    return text.includes('stone')
  }
  await until(around, 'the mark is in its tile', 5000)
  let signs = 0
  await until(async () => (signs = await whiteNear(page, lon, lat)) > 100, 'the sign is on the map', 20_000)
  await shot(page, 'marked')
  await page.tap(test('undo'))
  await until(async () => (await daemon.get('/api/state')).totals.marks === before, 'the mark is withdrawn')
  await until(async () => !(await around()), 'the mark has left its tile', 5000)
  await until(async () => (await whiteNear(page, lon, lat)) < signs / 4, 'the sign has left the map', 8000)
  await page.waitForSelector(test('toast'), { state: 'detached', timeout: 11_000 })

  // made one of another kind, and not undone within ten seconds: then it stays
  await page.tap(test('mark'))
  await page.tap(test('mark-obstacle'))
  await page.waitForSelector(`${test('mark-obstacle')}[aria-pressed="true"]`)
  const offered = performance.now()
  await page.waitForSelector(test('undo'), { state: 'detached' })
  const s = (performance.now() - offered) / 1000
  assert.ok(s > 5 && s < 20, `undo is offered for ten seconds: ${s.toFixed(1)} s`)
  assert.equal((await daemon.get('/api/state')).totals.marks, before + 1)
  assert.equal(await page.evaluate(() => JSON.parse(localStorage.getItem('drawbar.settings')).markKind), 'obstacle')
})

/** marksOf listens to the daemon; first is the next mark that is left. */
async function marksOf(origin) {
  const end = new AbortController()
  const answer = await fetch(`${origin}/events`, { signal: end.signal })
  return { first: firstMark(answer, end) }
}

async function firstMark(answer, end) {
  let text = ''
  for await (const chunk of answer.body.pipeThrough(new TextDecoderStream())) {
    text += chunk
    const m = /event: mark\ndata: (.*)\n/.exec(text)
    if (m !== null) {
      setTimeout(() => end.abort())
      return JSON.parse(m[1]).mark
    }
    text = text.slice(-100_000)
  }
  throw new Error('the events ended without a mark')
}

/** whiteNear counts the pixels of a sign's ground within a sign's size of a place. */
async function whiteNear(page, lon, lat) {
  const { camera } = await hook(page)
  const image = await mapPixels(page)
  const p = place(camera, image, [lon, lat])
  let white = 0
  for (let dy = -20; dy <= 20; dy++) {
    for (let dx = -20; dx <= 20; dx++) {
      const c = image.at(p.x + dx, p.y + dy)
      if (c !== null && c.every((v) => v > 240)) white++
    }
  }
  return white
}
