// Marks over sessions: left in one, there in the next; on a second person's phone they
// are ticked off, over a link that comes and goes.

import assert from 'node:assert/strict'
import { networkInterfaces } from 'node:os'
import { join } from 'node:path'
import { test as check } from 'node:test'
import { folder, pause, start, until } from './daemon.mjs'
import { feed, simulated, today } from './feed.mjs'
import { acknowledge, open, painted, phone, screen, shot, test, watch, without } from './screen.mjs'

const outside = Object.values(networkInterfaces()).flat().find((a) => a.family === 'IPv4' && !a.internal)?.address

check('marks of an earlier session, and a second person', { skip: without || (outside === undefined ? 'this machine has no address but loopback' : false), timeout: 240_000 }, async (t) => {
  const dir = folder(t)
  const work = await simulated(dir, '--start', today())
  const data = join(dir, 'data')
  const run = async () => {
    const source = await feed(t, work.lines, { from: 20 })
    const daemon = await start(t, ['run', '--config', work.config(source), '--data', data, '--listen', '0.0.0.0:0'])
    await until(async () => (await daemon.get('/api/state')).operation?.area.covered_m2 > 20, 'it works')
    return daemon
  }
  const first = await run()
  const { antenna: [lon, lat] } = (await first.get('/api/state')).machine
  for (const [kind, note, east, north] of [['stone', 'the size of a wheel, by the gate', 0.0004, 0.0002], ['wet spot', '', -0.0003, 0.0001], ['obstacle', 'old post, leans', 0, 0.003]]) {
    await first.post('/api/operator', { mark: { kind, note, at: [lon + east, lat + north] } })
  }
  await until(async () => (await first.get('/api/marks')).marks.length === 3, 'three marks are kept')
  await first.stop()

  // the next session: they are in the list, the nearest first, and on the map
  const daemon = await run()
  const context = await screen(t)
  const page = await open(context, daemon.origin)
  const seen = watch(page)
  await painted(page)
  await page.click(test('open-more'))
  await page.click(test('open-marks'))
  await page.waitForSelector(test('mark-row'))
  const rows = () => page.$$eval(`dialog[open] ${test('mark-row')}`, (all) => all.map((r) => [r.querySelector('strong').textContent, r.dataset.state]))
  const kinds = (await rows()).map(([k]) => k)
  assert.deepEqual([kinds[2], [...kinds].sort()], ['Obstacle', ['Obstacle', 'Stone', 'Wet spot']], 'the farthest is the last')
  const near = (await daemon.get('/api/marks?near=true')).marks.map((m) => m.distance_m)
  assert.deepEqual(near, [...near].sort((a, b) => a - b), 'the nearest is the first')
  assert.match(await page.textContent(`${test('mark-row')}:nth-child(3) ${test('mark-away')}`), /\d+ m N|\d\.\d+ km N|\d+ m NE|\d+ m NW/)
  await shot(page, 'marks-sheet-day')

  // a note is written, and one that another changed meanwhile is not overwritten unseen
  const stone = (await daemon.get('/api/marks')).marks.find((m) => m.kind === 'stone')
  await page.click(`${test('mark-row')}[data-id="${stone.id}"] ${test('mark-edit')}`)
  await daemon.post(`/api/marks/${stone.id}`, { note: 'two of them', revision: stone.revision })
  await page.waitForSelector(test('mark-changed'))
  await page.fill(test('mark-text'), 'bring the loader')
  await shot(page, 'marks-sheet-changed')
  await page.click(`${test('mark-changed')} button`)
  await page.click(test('mark-save'))
  await until(async () => (await daemon.get('/api/marks')).marks.find((m) => m.kind === 'stone').note === 'bring the loader', 'the note is kept')

  // handed over: the browser is given the file
  const [download] = await Promise.all([page.waitForEvent('download'), page.click(test('marks-gpx'))])
  assert.equal(download.suggestedFilename(), 'marks.gpx')
  await page.emulateMedia({ colorScheme: 'dark' })
  await pause(300)
  await shot(page, 'marks-sheet-night')
  await page.click(`dialog[open] ${test('close-sheet')}`)
  await page.emulateMedia({ colorScheme: 'light' })
  for (let i = 0; i < 2; i++) await page.click(test('zoom-out'))
  await pause(2500)
  await shot(page, 'marks-map-day')

  // the second person's phone: let in as a helper
  const away = `http://${outside}:${daemon.port}`
  const { code } = await daemon.post('/api/access/code', { role: 'helper' })
  const pocket = await screen(t, phone)
  const hand = pocket.pages()[0]
  await hand.goto(`${away}/marks`)
  await hand.waitForSelector(test('pairing'))
  assert.doesNotMatch(await hand.content(), /Stone|loader|Mill Piece/, 'a stranger sees no mark')
  await hand.fill(test('pair-code'), code)
  await hand.fill(test('pair-name'), 'stone picker')
  await hand.tap(test('pair'))
  await hand.waitForSelector(test('mark-row'))
  await shot(hand, 'marks-phone-day')
  assert.match(await hand.textContent(test('caution')), /Stay clear/)
  assert.match(await hand.textContent(test('marks-from')), /from the machine/)
  const tap = (kind) => hand.tap(`${test('mark-row')}:has(strong:text-is("${kind}")) ${test('mark-done')}`)
  await tap('Stone')
  await until(async () => (await daemon.get('/api/marks?state=done')).marks.some((m) => m.kind === 'stone' && m.settled_by === 'stone picker'), 'the tick is kept, with who it was')
  const session = (await daemon.get('/api/sessions')).sessions[0].name
  assert.ok(session, 'a session is being recorded')

  // the link breaks: what is ticked is said to be unsent, also after the page was opened anew
  await pocket.setOffline(true)
  await tap('Wet spot')
  await hand.waitForSelector(test('marks-unsent'))
  await hand.waitForSelector(test('marks-offline'))
  assert.match(await hand.textContent(test('marks-unsent')), /1 tick is not sent yet/)
  await hand.tap(test('marks-done'))
  await hand.waitForSelector(test('mark-waits'))
  await shot(hand, 'marks-phone-offline')
  assert.equal((await daemon.get('/api/marks?state=done')).marks.length, 1, 'it was not sent')
  const link = hand.evaluate(() => JSON.parse(localStorage.getItem('drawbar.marks')).waiting)
  assert.equal(Object.values(await link).join(), 'done')
  await pocket.setOffline(false)
  await hand.goto('about:blank')
  await hand.goto(`${away}/marks`)
  await until(async () => (await daemon.get('/api/marks?state=done')).marks.length === 2, 'it is sent when the link is back')
  await until(async () => (await hand.$(test('marks-unsent'))) === null, 'and nothing waits any more')

  // and nothing else of the farm is for it
  const refused = await hand.evaluate(async () => {
    const out = {}
    for (const path of ['/api/state', '/api/fields', '/api/sessions', '/metrics', '/events', '/tiles/marks/1/0/0.mvt']) out[path] = (await fetch(path)).status
    const post = async (path, body) => (await fetch(path, { method: 'POST', headers: { 'Content-Type': 'application/json' }, body: JSON.stringify(body) })).status
    const [mark] = (await (await fetch('/api/marks')).json()).marks
    out.say = await post('/api/operator', { note: 'x' })
    out.note = await post(`/api/marks/${mark.id}`, { note: 'x', revision: mark.revision })
    return out
  })
  for (const [what, status] of Object.entries(refused)) assert.equal(status, 403, `${what} is refused to a helper`)
  await hand.goto(away)
  await hand.waitForURL(`${away}/marks`)
  await hand.waitForSelector(test('marks-list'))
  await hand.emulateMedia({ colorScheme: 'dark' })
  await pause(300)
  await shot(hand, 'marks-phone-night')

  // the cab sees what was ticked
  await page.click(test('open-more'))
  await page.click(test('open-marks'))
  await page.click(test('marks-done'))
  await until(async () => (await rows()).length === 2, 'the cab lists what is done')
  assert.match(await page.textContent(test('marks-list')), /by stone picker/)
  await shot(page, 'marks-sheet-done')

  // shut out, the phone shows nothing any more
  const [device] = (await daemon.get('/api/access/devices')).devices
  await daemon.remove(`/api/access/devices/${device.id}`)
  await hand.waitForSelector(test('pairing'), { timeout: 20_000 })
  assert.doesNotMatch(await hand.content(), /loader|Mill Piece/)
  assert.equal(await hand.evaluate(() => localStorage.getItem('drawbar.marks')), null)
  assert.deepEqual([seen.errors, seen.foreign], [[], []])
})

check('where the phone tells its place, distances are from it', { skip: without, timeout: 90_000 }, async (t) => {
  const dir = folder(t)
  const daemon = await start(t, ['run', '--data', join(dir, 'data'), '--listen', '127.0.0.1:0'])
  await daemon.post('/api/operator', { mark: { kind: 'stone', at: [-0.012, 53.351] } })
  await daemon.stop()
  const next = await start(t, ['run', '--data', join(dir, 'data'), '--listen', '127.0.0.1:0'])
  await until(async () => (await next.get('/api/marks')).marks.length === 1, 'the mark is there')
  // loopback is a secure origin
  const context = await screen(t, { ...phone, geolocation: { longitude: -0.0121, latitude: 53.3513, accuracy: 4 }, permissions: ['geolocation'] })
  const page = context.pages()[0]
  await page.goto(`${next.origin}/marks`)
  // GeodSolve: 34.045 m, 168.7 degrees
  await until(async () => /34 m S/.test(await page.textContent(test('mark-away'))), 'the distance from the phone')
  assert.match(await page.textContent(test('marks-from')), /from this phone, right to about 4 m/)
  await shot(page, 'marks-phone-own-place')
})
