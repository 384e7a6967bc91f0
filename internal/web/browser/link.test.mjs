// The page through a restart of the daemon, through sleep and without network.

import assert from 'node:assert/strict'
import { join } from 'node:path'
import { test as check } from 'node:test'
import { demo, folder, pause, start, until } from './daemon.mjs'
import { feed, simulated, today } from './feed.mjs'
import { figure } from './figures.mjs'
import { wire } from './wire.mjs'
import { hook, open, painted, screen, shot, test, without } from './screen.mjs'

const sleepS = process.env.DRAWBAR_LONG === '1' ? 120 : 20

/** dataOld waits until the page says how old its data is, and gives the words: the rates may be called old a moment before. */
async function dataOld(page) {
  return until(async () => {
    const text = await page.textContent(test('old'), { timeout: 1000 }).catch(() => null)
    return text !== null && /data is \d+ s old/.test(text) ? text : null
  }, 'the data is called old', 20_000)
}

/** agrees waits until the page is live and has drawn what the daemon has. */
async function agrees(page, daemon, name) {
  const began = performance.now()
  await page.waitForSelector(test('old'), { state: 'detached', timeout: 30_000 })
  await until(async () => {
    const [s, h] = [await daemon.get('/api/state'), await hook(page)]
    const done = Number.parseFloat(await page.textContent(`${test('done')}`))
    return h.revision >= s.tiles.revision - 1 && h.work >= s.tiles.work && Math.abs(done - s.operation.area.covered_m2 / 1e4) <= 0.01
  }, `${name}: page and daemon agree`, 30_000)
  return performance.now() - began
}

check('the daemon is restarted', { skip: without, timeout: 180_000 }, async (t) => {
  const dir = folder(t)
  const work = await simulated(dir, '--start', today())
  const source = await feed(t, work.lines, { from: 20 })
  const config = await work.config(source)
  const args = (port) => ['run', '--config', config, '--data', join(dir, 'data'), '--listen', `127.0.0.1:${port}`]
  const first = await start(t, args(0))
  const page = await open(await screen(t), first.origin)
  await painted(page)
  await until(async () => (await first.get('/api/state')).operation?.area.covered_m2 > 100, 'it works')
  await first.stop('SIGKILL')
  const lost = performance.now()
  const text = await dataOld(page)
  figure(`link: the data is called old ${((performance.now() - lost) / 1000).toFixed(1)} s after the daemon was killed`)
  assert.equal(await page.getAttribute(test('done'), 'data-old'), 'true')
  assert.ok(await page.$('.map-pane.is-old') !== null, 'the map looks old')
  await pause(3000)
  const later = await page.textContent(test('old'))
  assert.ok(Number(/(\d+) s/.exec(later)[1]) > Number(/(\d+) s/.exec(text)[1]), `it grows older: ${text} then ${later}`)
  await shot(page, 'lost-day')
  const second = await start(t, args(first.port))
  const back = performance.now()
  await agrees(page, second, 'after the restart')
  figure(`link: live again ${((performance.now() - back) / 1000).toFixed(1)} s after the daemon was back`)
  assert.equal(await page.getAttribute(test('done'), 'data-old'), 'false')
  const before = (await hook(page)).work
  await until(async () => (await hook(page)).work > before, 'pieces go on being drawn')
})

check('asleep', { skip: without, timeout: 300_000 }, async (t) => {
  const daemon = await demo(t, (120 / sleepS) * 1.5)
  const network = await wire(t, daemon.port)
  const context = await screen(t)
  const page = await open(context, network.origin)
  await painted(page)
  await until(async () => (await daemon.get('/api/state')).operation.area.covered_m2 > 300, 'the demo works')
  await page.evaluate(() => { window.ticks = 0; setInterval(() => { window.ticks++ }, 100) })
  const slept = Date.parse((await daemon.get('/api/state')).time)
  network.silence()
  const [asleep, ticks] = [await hook(page), await page.evaluate(() => window.ticks)]
  context.asleep(true)
  await pause(sleepS * 1000)
  const workS = (Date.parse((await daemon.get('/api/state')).time) - slept) / 1000
  assert.ok(workS > 110, `two minutes of work went by: ${workS} s`)
  network.heal()
  context.asleep(false)
  assert.ok((await page.evaluate(() => window.ticks)) - ticks < 30, 'the page was asleep')
  const woke = performance.now()
  const said = await dataOld(page)
  assert.ok(Number(/(\d+) s/.exec(said)[1]) >= sleepS - 1, `the time asleep counts: ${said}`)
  await agrees(page, daemon, 'after sleep')
  const now = await hook(page)
  assert.ok(now.work > asleep.work, `work that was missed is drawn: ${asleep.work} then ${now.work}`)
  figure(`link: asleep for ${sleepS} s while ${workS.toFixed(0)} s of work went by: all drawn ${((performance.now() - woke) / 1000).toFixed(1)} s after waking`)
  await shot(page, 'woken')
})

check('no network', { skip: without, timeout: 120_000 }, async (t) => {
  const daemon = await demo(t, 4)
  const network = await wire(t, daemon.port)
  const context = await screen(t)
  const page = await open(context, network.origin)
  await painted(page)
  network.silence()
  const gone = performance.now()
  await dataOld(page)
  figure(`link: the data is called old ${((performance.now() - gone) / 1000).toFixed(1)} s after the network went silent`)
  await pause(8000)
  network.heal()
  const took = await agrees(page, daemon, 'after the network is back')
  figure(`link: live again ${(took / 1000).toFixed(1)} s after the network was back`)
})
