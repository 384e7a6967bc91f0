// The operator's day: from coming to a planned field to a record that has all it needs,
// changes in mid-field, refills, products made on the spot, and what is missing.

import assert from 'node:assert/strict'
import { readdirSync, readFileSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { test as check } from 'node:test'
import { binary, drawbar, folder, start, until } from './daemon.mjs'
import { feed, simulated, today } from './feed.mjs'
import { figure } from './figures.mjs'
import { open, painted, phone, screen, shot, tablet, test, watch, without } from './screen.mjs'

/** farm writes a catalogue of Mill Piece as the simulation drives it, with what is planned there. */
async function farm(dir, sim, people = ['Driver', 'Relief driver']) {
  const boundary = JSON.parse(readFileSync(join(sim.out, 'boundary.geojson'), 'utf8')).geometry
  const data = join(dir, 'data')
  const file = join(dir, 'farm.yaml')
  writeFileSync(file, `schema: drawbar.catalog.1
fields:
- name: Mill Piece
  boundary: ${JSON.stringify(boundary)}
  seasons:
  - crop: Spring oats
    year: ${new Date().getUTCFullYear()}
    plans:
    - {order: 1, operation: seeding, product: Spring oats, rate: 112 kg/ha, tank: 1}
    - {order: 1, operation: seeding, product: Granular starter, rate: 150 kg/ha, tank: 2}
    - {order: 2, operation: spraying, product: Rust guard, rate: 1 l/ha}
implements:
- {name: 12 m drill, operation: seeding, antenna_to_hitch_m: 1.8, mount: towed, hitch_to_axle_m: 6, hitch_to_bar_m: 7.2, sections_m: [3, 3, 3, 3]}
- {name: 24 m boom, operation: spraying, hitch_to_bar_m: 3, sections_m: [6, 6, 6, 6]}
products:
- {name: Spring oats, kind: seed, thousand_kernel_g: 38}
- {name: Granular starter, kind: granular, analysis: {n_pct: 11, p2o5_pct: 52}}
- {name: Urea 46, kind: granular, analysis: {n_pct: 46}}
- {name: Rust guard, kind: crop protection, max_rate: 1 l/ha, reentry_h: 24, pre_harvest_days: 35}
people: [${people.map((name) => `{name: ${name}}`).join(', ')}]
`)
  await drawbar('catalog', 'import', '--data', data, file)
  return data
}

/** bare is the configuration without a field and without products: the operator says them. */
function bare(path) {
  const text = readFileSync(path, 'utf8').replace(/^field:.*\n/m, '').replace(/^ +(product|target):.*\n/gm, '')
  writeFileSync(path, text)
  return path
}

/** begun starts the daemon on a machine that drives about Mill Piece, of which nothing is stated. */
async function begun(t, people) {
  const dir = folder(t)
  const sim = await simulated(dir, '--start', today(), '--flow=false')
  const data = await farm(dir, sim, people)
  const ports = await feed(t, sim.lines, { from: 20 })
  const daemon = await start(t, ['run', '--config', bare(sim.config(ports)), '--data', data, '--listen', '127.0.0.1:0'])
  return { daemon, data }
}

/** counted is a page whose touches are counted. */
function counted(page) {
  let touches = 0
  return {
    touches: () => touches,
    async touch(name, text) {
      touches++
      const at = text === undefined ? page.locator(test(name)) : page.locator(test(name), { hasText: text })
      await at.first().click()
    },
  }
}

/** lines are what was said in a session of a daemon that has ended, in order. */
async function lines(data, session) {
  await drawbar('sessions', 'mend', data)
  const out = join(data, 'said.capture')
  await drawbar('sessions', 'convert', join(data, readdirSync(data).find((name) => name.startsWith(session) && name.endsWith('.mcap'))), out)
  return readFileSync(out, 'utf8').split('\n').filter((l) => l.includes(' operator ')).map((l) => l.slice(l.indexOf(' operator ') + 10))
}

check('from entering a planned field to a complete record', { skip: without, timeout: 180_000 }, async (t) => {
  const { daemon, data } = await begun(t)
  const context = await screen(t, tablet)
  const seen = watch(context.pages()[0])
  const page = await open(context, daemon.origin)
  const hand = counted(page)
  await page.waitForSelector(test('offer'))
  await page.waitForSelector(test('start'))
  assert.match(await page.textContent(test('offer')), /Mill Piece/)
  assert.equal((await page.textContent(test('start'))).trim(), 'Start: seeding, Spring oats 112 kg/ha in tank 1, Granular starter 150 kg/ha in tank 2')
  await shot(page, 'day-offer')
  await hand.touch('offer-person', 'Relief driver')
  await hand.touch('start')
  const state = await until(async () => {
    const s = await daemon.get('/api/state')
    return s.operation?.field === 'Mill Piece' && s.operation.has_boundary && s.tanks.every((tank) => tank.product !== '') ? s : null
  }, 'the work is stated')
  assert.deepEqual(state.tanks.map((tank) => tank.product), ['Spring oats', 'Granular starter'])
  await page.waitForSelector(test('offer'), { state: 'detached' })
  assert.ok(hand.touches() <= 3, `${hand.touches()} touches`)
  figure(`from entering a planned field to a complete record: ${hand.touches()} touches (goal 3)`)
  const now = await daemon.get('/api/choices')
  assert.deepEqual([now.now, now.would.lacks], [{ field: 'Mill Piece', operation: 'seeding', crop: 'Spring oats', implement: '12 m drill', person: 'Relief driver' }, []])
  assert.deepEqual((await daemon.get('/api/ready')).items.filter((i) => i.kind !== 'fix_quality'), [])
  await shot(page, 'day-begun')
  assert.deepEqual(seen, { errors: [], failed: [], foreign: [], requests: seen.requests })
  await page.close()
  await daemon.stop()
  const said = await lines(data, state.recording.session)
  assert.equal(said.length, 1, `one line says it all: ${said.join('\n')}`)
})

check('tanks in mid-field', { skip: without, timeout: 240_000 }, async (t) => {
  const { daemon, data } = await begun(t, ['Driver'])
  const context = await screen(t, phone)
  const page = await open(context, daemon.origin)
  const hand = counted(page)
  await hand.touch('start')
  await until(async () => (await daemon.get('/api/state')).operation?.field === 'Mill Piece', 'work has begun')
  await painted(page)
  await until(async () => (await daemon.get('/api/state')).operation.area.covered_m2 > 50, 'ground is worked', 90_000)

  // another product from now on
  let before = hand.touches()
  await hand.touch('open-tank-2')
  await page.waitForSelector(test('product'))
  await shot(page, 'day-tank-phone')
  await hand.touch('product', 'Urea 46')
  await page.fill(test('put-target'), '140')
  await shot(page, 'day-put-phone')
  await hand.touch('put-in')
  await page.waitForSelector(test('tank-sheet'), { state: 'detached' })
  await until(async () => (await daemon.get('/api/state')).tanks[1].product === 'Urea 46', 'urea is in tank 2')
  assert.ok(hand.touches() - before <= 3, `a change of product: ${hand.touches() - before} touches`)

  // filled, with a lot
  await hand.touch('open-tank-1')
  await hand.touch('tank-refill')
  await page.fill(test('refill-value'), '1200,5')
  await page.fill(test('refill-lot'), 'L-204')
  await shot(page, 'day-refill-phone')
  await hand.touch('refill-say')
  await page.waitForSelector(test('tank-sheet'), { state: 'detached' })
  const filled = await until(async () => (await daemon.get('/api/state')).tanks[0], 'tank 1')
  assert.ok(filled.level === null || filled.level > 0)

  // a product that nobody knew this morning
  before = hand.touches()
  await hand.touch('open-tank-2')
  await hand.touch('tank-new')
  await page.fill(test('quick-name'), 'Farm mix')
  await hand.touch('quick-kind', 'granular')
  await page.fill(test('quick-n_pct'), '22.8')
  await page.fill(test('quick-p2o5_pct'), '20.8')
  await page.fill(test('quick-rate'), '250')
  await shot(page, 'day-quick-phone')
  await hand.touch('quick-say')
  await page.waitForSelector(test('tank-sheet'), { state: 'detached' })
  await until(async () => (await daemon.get('/api/state')).tanks[1].product === 'Farm mix', 'the mix is in tank 2')
  const known = (await daemon.get('/api/choices')).products.find((p) => p.name === 'Farm mix')
  assert.equal(known.kind, 'granular')

  const session = (await daemon.get('/api/state')).recording.session
  await page.close()
  await daemon.stop()
  const said = (await lines(data, session)).map((l) => JSON.parse(l))
  assert.deepEqual(said.slice(1), [
    { adjust: [{ tank: 2, product: { name: 'Urea 46', kind: 'granular' }, target: '140 kg/ha' }] },
    { refill: { tank: 1, amount: '1200.5 kg', lot: 'L-204', person: 'Driver' } },
    { adjust: [{ tank: 2, product: { name: 'Farm mix', kind: 'granular' }, target: '250 kg/ha' }] },
  ])
})

check('what is missing is settled by its step', { skip: without, timeout: 180_000 }, async (t) => {
  const { daemon } = await begun(t, ['Driver'])
  const context = await screen(t, tablet)
  const page = await open(context, daemon.origin, 'night')
  await page.click(test('not-now'))
  await until(async () => Number(await page.getAttribute(test('open-ready'), 'data-count')) >= 2, 'something is missing')
  await page.click(test('open-ready'))
  await page.waitForSelector(test('ready-no_field'))
  await shot(page, 'day-ready-night')
  await page.click(`${test('ready-no_field')} ${test('settle')}`)
  await until(async () => (await daemon.get('/api/state')).operation?.field === 'Mill Piece', 'the field is stated')
  await page.waitForSelector(test('ready-no_field'), { state: 'detached' })
  await page.click(`${test('ready-no_person')} ${test('settle')}`)
  await page.waitForSelector(test('who-sheet'))
  await page.click(test('who'))
  await page.waitForSelector(test('who-sheet'), { state: 'detached' })
  await until(async () => (await daemon.get('/api/ready')).items.every((i) => i.kind !== 'no_person'), 'somebody works')
  // a tank that runs without a product: the plan tells what is in it
  await until(async () => (await daemon.get('/api/ready')).items.some((i) => i.kind === 'tank_without_product'), 'a tank runs', 60_000)
  await page.click(test('open-ready'))
  await page.locator(test('ready-tank_without_product')).first().locator(test('settle')).click()
  await until(async () => (await daemon.get('/api/state')).tanks.some((tank) => tank.product === 'Spring oats' || tank.product === 'Granular starter'), 'it is stated what is in it')
  // and one thing is left as it is
  const rest = page.locator(test('leave'))
  if (await rest.count() > 0) {
    await rest.first().click()
    await page.waitForSelector(test('left'))
  }
})

check('what was begun is in the recording, whatever comes then', { skip: without, timeout: 120_000 }, async (t) => {
  const { daemon, data } = await begun(t, ['Driver'])
  const { begin } = await until(async () => { const c = await daemon.get('/api/choices?field=Mill%20Piece'); return c.begin.plans?.length > 0 ? c : null }, 'there is a plan')
  const session = (await daemon.get('/api/state')).recording.session
  const said = await daemon.post('/api/begin', begin)
  assert.equal(said.recorded, true)
  await daemon.stop('SIGKILL')
  const kept = await lines(data, session)
  assert.equal(kept.length, 1, `what was acknowledged is there: ${kept.length} lines, by ${binary}`)
  const line = JSON.parse(kept[0])
  assert.deepEqual([line.field, line.crop, line.person, line.boundary.type, line.adjust.length], ['Mill Piece', 'Spring oats', 'Driver', 'MultiPolygon', 2])
})

check('where a tank runs out is on the map', { skip: without, timeout: 150_000 }, async (t) => {
  const dir = folder(t)
  const sim = await simulated(dir, '--start', today())
  // from the tenth second of work on there is for some eighty metres left in tank 1
  let first = null
  for (const line of sim.lines) {
    if (line.stream !== 'controller' || !line.text.includes('work=1')) continue
    first ??= line.at
    const left = Math.max(0, 13 - (line.at - first) / 1000 * 0.4)
    line.text = line.text.replace(/tank\.1\.level=[\d.]+/, `tank.1.level=${left.toFixed(2)}`).replace(/\*[0-9A-F]{2}$/, '')
  }
  const ports = await feed(t, sim.lines, { from: 20 })
  const daemon = await start(t, ['run', '--config', sim.config(ports), '--data', join(dir, 'data'), '--listen', '127.0.0.1:0'])
  const context = await screen(t, tablet)
  const page = await open(context, daemon.origin)
  const out = await until(async () => (await daemon.get('/api/state')).tanks[0].runs_out, 'tank 1 runs out on this pass', 60_000)
  assert.ok(out.in_m > 0 && out.in_m < 300, `in ${out.in_m} m`)
  await page.locator(test('runs-out-1'), { hasText: /^Runs out on this pass, in / }).waitFor()
  await shot(page, 'day-runs-out')
})
