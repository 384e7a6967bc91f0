// Who may look and who may change things; and what arrives.

import assert from 'node:assert/strict'
import { networkInterfaces } from 'node:os'
import { join } from 'node:path'
import { test as check } from 'node:test'
import { demo, folder, pause, start, until } from './daemon.mjs'
import { feed, simulated, today } from './feed.mjs'
import { more, open, painted, phone, screen, shot, test, watch, without } from './screen.mjs'

const outside = Object.values(networkInterfaces()).flat().find((a) => a.family === 'IPv4' && !a.internal)?.address

check('a stranger, a viewer, an operator', { skip: without || (outside === undefined ? 'this machine has no address but loopback' : false), timeout: 180_000 }, async (t) => {
  const dir = folder(t)
  const work = await simulated(dir, '--start', today())
  const source = await feed(t, work.lines, { from: 20 })
  const daemon = await start(t, ['run', '--config', work.config(source), '--data', join(dir, 'data'), '--listen', '0.0.0.0:0'])
  await until(async () => (await daemon.get('/api/state')).operation?.area.covered_m2 > 20, 'it works')
  const away = `http://${outside}:${daemon.port}`
  const context = await screen(t, phone)
  const page = context.pages()[0]
  const seen = []
  page.on('response', async (r) => { seen.push(`${new URL(r.url()).pathname} ${r.status()} ${await r.text().catch(() => '')}`) })
  await page.goto(away)
  await page.waitForSelector(test('pairing'))
  await pause(1000)
  await shot(page, 'pairing-phone-day')
  await page.emulateMedia({ colorScheme: 'dark' })
  await pause(200)
  await shot(page, 'pairing-phone-night')
  await page.emulateMedia({ colorScheme: 'light' })
  for (const s of seen.filter((x) => !x.startsWith('/assets/') && !x.startsWith('/sw.js'))) assert.doesNotMatch(s, /Mill Piece|Spring oats|lat_deg|"lon/, 'a stranger learns nothing of the farm')
  assert.doesNotMatch(await page.content(), /Mill Piece|Spring oats/)
  for (const path of ['/api/state', '/events', '/api/fields', '/metrics', '/tiles/covered/16/32767/21257.mvt', '/api/arrivals']) {
    const { status } = await fetch(away + path)
    assert.ok(status === 401 || status === 403, `${path} is refused to a stranger: ${status}`)
  }

  // a wrong code, then the right one
  await page.fill(test('pair-code'), '0000-0000')
  await page.fill(test('pair-name'), 'tablet in the cab')
  await page.tap(test('pair'))
  await page.waitForSelector(test('fault'))
  const { code } = await daemon.post('/api/access/code', { role: 'viewer' })
  await page.fill(test('pair-code'), code)
  await page.tap(test('pair'))
  await page.tap(test('safety-ok'))
  await painted(page)
  assert.equal(await page.textContent(test('field-name')), 'Mill Piece')

  // a viewer changes nothing
  await page.waitForSelector(test('viewer-word'))
  await shot(page, 'viewer-phone')
  const writing = await page.$$eval('[data-test="mark"]', (all) => all.filter((b) => !b.disabled).length)
  assert.equal(writing, 0, 'a viewer has no mark to leave')
  await page.tap(test('open-field'))
  assert.equal(await page.$$eval('dialog[open] [data-test="choose-field"]', (all) => all.filter((b) => !b.disabled).length), 0)
  await page.tap(`dialog[open] ${test('close-sheet')}`)
  const refused = await page.evaluate(async () => (await fetch('/api/operator', { method: 'POST', headers: { 'Content-Type': 'application/json' }, body: '{"mark":{"kind":"stone","at":"bar"}}' })).status)
  assert.equal(refused, 403, 'the daemon refuses it too')

  // made an operator on the recorder's own screen, it may
  const [device] = (await daemon.get('/api/access/devices')).devices
  assert.equal(device.name, 'tablet in the cab')
  await daemon.post(`/api/access/devices/${device.id}`, { role: 'operator' })
  await page.reload()
  await page.tap(test('safety-ok'))
  await until(async () => page.evaluate(() => document.querySelector('[data-test="mark"]')?.disabled === false), 'the mark button is on')

  await daemon.remove(`/api/access/devices/${device.id}`)
  await page.waitForSelector(test('pairing'), { timeout: 20_000 })
  assert.doesNotMatch(await page.content(), /Mill Piece|Spring oats/, 'what was shown is gone')
})

check('what arrives', { skip: without, timeout: 90_000 }, async (t) => {
  const daemon = await demo(t, 2)
  const page = await open(await screen(t), daemon.origin)
  const seen = watch(page)
  await more(page, 'arrivals')
  for (const [source, text] of [['gnss', /\$GNGGA,\d{6}/], ['controller', /tank\.1\.rate=/]]) {
    await until(async () => text.test(await page.textContent(test(`source-${source}`))), `lines of ${source} are shown`)
  }
  const read = () => page.textContent(`${test('source-gnss')} tbody tr:first-child td:nth-child(2)`)
  const first = await read()
  await until(async () => (await read()) !== first, 'the lines go on')
  assert.match(await page.textContent(test('source-gnss')), /53\.3\d* N/)
  await page.click(test('arrivals-try'))
  await page.click(test('profile-keyvalue'))
  await page.click(test('profile-try'))
  await page.waitForSelector(test('trial'))
  const [reports, rejected] = [Number(await page.textContent(test('trial-reports'))), Number(await page.textContent(test('trial-rejected')))]
  assert.ok(reports > 3, `its own profile reads the lines: ${reports} read, ${rejected} not`)
  assert.ok((await page.$$(`${test('trial')} tbody tr`)).length > 3, 'a table of lines')
  await shot(page, 'try-own')
  // a profile that does not fit says so, line by line
  await page.click(test('profile-delimited'))
  await page.click(test('add-column')).catch(() => undefined)
  await page.fill(`${test('profile-column')}:first-of-type ${test('column-name')}`, '1')
  await page.click(test('profile-try'))
  await until(async () => {
    const n = await page.$(test('trial-rejected'))
    return n !== null ? Number(await n.textContent()) > 3 : (await page.$('.faults .fault')) !== null || (await page.$(test('fault'))) !== null
  }, 'what does not fit is told')
  await shot(page, 'try-other')
  assert.equal((await daemon.get('/api/state')).controller.reports > 0, true)
  assert.deepEqual([seen.errors, seen.foreign], [[], []])
})
