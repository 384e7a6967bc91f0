// The farm's catalogue on the screen: a machine, a product, a field with season and
// plan, and two people who change the same thing.

import assert from 'node:assert/strict'
import { mkdirSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { test as check } from 'node:test'
import { folder, start, until } from './daemon.mjs'
import { more, open, phone, screen, shot, tablet, test, watch, without } from './screen.mjs'

const patience = { skip: without, timeout: 240_000 }

async function board(t) {
  const dir = folder(t)
  mkdirSync(join(dir, 'data'))
  writeFileSync(join(dir, 'config.yaml'), 'units: metric\n')
  return start(t, ['run', '--config', join(dir, 'config.yaml'), '--data', join(dir, 'data'), '--listen', '127.0.0.1:0'])
}

const fill = async (page, values) => { for (const [member, value] of Object.entries(values)) await page.fill(test(`in-${member}`), value) }
const saved = (page) => page.waitForFunction(() => document.querySelector('[data-test="saved"]')?.textContent === 'Saved.')
const back = (page) => page.click(test('back'))
const items = async (daemon, path) => (await daemon.get(`/api/catalog/${path}`)).items

check('a machine, a product, a blend, a field with season and plan', patience, async (t) => {
  const daemon = await board(t)
  const context = await screen(t, tablet)
  const page = await open(context, daemon.origin, 'day')
  const seen = watch(page)
  await more(page, 'farm')

  // an implement: each distance is on the drawing while it is entered
  await page.click(test('tab-implements'))
  await page.click(test('add'))
  await fill(page, { name: '12 m drill', operation: 'seeding' })
  for (const [member, value] of [['antenna_to_hitch_m', '1.8'], ['antenna_right_m', '0.4'], ['hitch_to_axle_m', '6'], ['hitch_to_bar_m', '7,2'], ['bar_right_m', '0.5'], ['sections_m[0]', '2.5']]) {
    await page.fill(test(`in-${member}`), value)
    await page.waitForSelector(`${test('topview')}[data-active="${member}"]`)
    const drawn = await page.$eval(`${test('topview')} .tv-dimension`, (g) => {
      const [line] = g.querySelectorAll('line')
      const n = (a) => Number(line.getAttribute(a))
      return { length: Math.hypot(n('x2') - n('x1'), n('y2') - n('y1')), text: g.querySelector('text').textContent }
    })
    const want = Number(value.replace(',', '.'))
    assert.ok(Math.abs(drawn.length - want) < 1e-6, `${member} is drawn ${drawn.length} m long`)
    assert.equal(drawn.text, `${want} m`)
    if (member === 'hitch_to_bar_m') await shot(page, 'farm-implement-day')
  }
  await page.fill(test('in-hitch_to_axle_m'), '0')
  await page.click(test('save'))
  await page.waitForSelector(test('wrong-hitch_to_axle_m'))
  await shot(page, 'farm-fault-day')
  await page.fill(test('in-hitch_to_axle_m'), '6')
  await page.click(test('save'))
  await saved(page)
  const [drill] = await items(daemon, 'implements')
  assert.deepEqual([drill.name, drill.hitch_to_bar_m, drill.sections_m, drill.mount], ['12 m drill', 7.2, [2.5, 3, 3, 3], 'towed'])
  await back(page)

  // products; the form shows what the kind has, the help counts
  await page.click(test('tab-products'))
  await page.click(test('add'))
  await fill(page, { name: 'Spring oats', thousand_kernel_g: '38', germination_pct: '95', price: '480 EUR/t' })
  assert.equal(await page.isVisible(test('in-analysis.n_pct')), false)
  await fill(page, { name: 'Spring oats' })
  await page.fill(test('plants'), '300')
  await page.fill(test('rows'), '12.5')
  // 300 / (0.95 x 0.9) = 350.9 seeds of 0.038 g: 133.3 kg/ha
  await page.waitForFunction(() => document.querySelector('[data-test="seed-rate"]')?.textContent === '133.3 kg/ha')
  assert.equal(await page.textContent(test('seeds')), '350.9 /m²')
  await shot(page, 'farm-seed-day')
  await page.click(test('save'))
  await saved(page)
  await back(page)
  for (const [name, n] of [['Urea 46', '46'], ['Sulphate 21', '21']]) {
    await page.click(test('add'))
    await page.selectOption(test('in-kind'), 'granular')
    await fill(page, { name, 'analysis.n_pct': n })
    await page.click(test('save'))
    await saved(page)
    await back(page)
  }
  await page.click(test('add'))
  await page.selectOption(test('in-kind'), 'blend')
  await fill(page, { name: 'Top mix' })
  for (const [k, name, share] of [[0, 'Urea 46', '3'], [1, 'Sulphate 21', '1']]) {
    await page.click(test('add-parts'))
    await page.selectOption(test(`in-parts[${k}].product`), { label: name })
    await page.fill(test(`in-parts[${k}].share`), share)
  }
  // (3 x 46 + 21) / 4 = 39.75
  await page.waitForFunction(() => /^39\.[78] %$/.test(document.querySelector('[data-test="blend-N"]')?.textContent ?? ''))
  await shot(page, 'farm-blend-day')
  await page.click(test('save'))
  await saved(page)
  await back(page)
  await page.click(test('add'))
  await page.selectOption(test('in-kind'), 'crop protection')
  await page.waitForSelector(test('label-caution'))
  await shot(page, 'farm-protection-day')
  await back(page)
  if (await page.isVisible(test('leave'))) await page.click(test('leave'))
  await page.waitForSelector(test('list-products'))
  await page.fill(test('find'), 'top')
  await page.waitForFunction(() => document.querySelectorAll('[data-test="item"]').length === 1)
  await page.fill(test('find'), '')

  // a field with its outline; the running daemon knows it at once
  await page.click(test('tab-fields'))
  await page.click(test('add'))
  await fill(page, { name: 'Mill Piece' })
  const ring = [[-0.003, 53.35], [0.003, 53.35], [0.003, 53.354], [-0.003, 53.354], [-0.003, 53.35]]
  await page.setInputFiles(test('outline-file'), { name: 'mill.geojson', mimeType: 'application/geo+json', buffer: Buffer.from(JSON.stringify({ type: 'Feature', properties: {}, geometry: { type: 'Polygon', coordinates: [ring] } })) })
  await page.waitForFunction(() => document.querySelector('[data-test="outline"]')?.textContent.includes('A new outline'))
  await page.click(test('save'))
  await saved(page)
  assert.deepEqual((await daemon.get('/api/fields')).fields.map((f) => f.name), ['Mill Piece'])
  await page.click(test('add-season'))
  await fill(page, { crop: 'Spring oats', crop_code: 'AVESA', year: '2026', target_yield: '6.5 t/ha' })
  await page.click(test('save'))
  await saved(page)
  for (const [product, rate, operation] of [['Spring oats', '133 kg/ha', 'seeding'], ['Top mix', '200 kg/ha', 'spreading']]) {
    await page.click(test('add-plan'))
    await page.selectOption(test('in-product'), { label: product })
    await fill(page, { rate, operation })
    if (product === 'Top mix') await page.waitForFunction(() => document.querySelector('[data-test="rate-help"]')?.textContent.includes('N 79.5 kg/ha'))
    await page.click(test('save'))
    await page.waitForSelector(test('add-plan'))
  }
  await page.waitForFunction(() => document.querySelectorAll('[data-test="plan"]').length === 2)
  await shot(page, 'farm-season-day')
  const [field] = await items(daemon, 'fields')
  const [season] = await items(daemon, `seasons?of=${field.id}`)
  const plans = await items(daemon, `plans?of=${season.id}`)
  assert.deepEqual(plans.map((p) => [p.order, p.operation, p.rate]), [[1, 'seeding', '133 kg/ha'], [2, 'spreading', '200 kg/ha']])

  // the whole of it, out and in again
  await back(page)
  await back(page)
  await page.click(test('tab-whole'))
  const before = await (await fetch(`${daemon.origin}/api/catalog/export`)).text()
  await page.setInputFiles(test('import-file'), { name: 'farm.yaml', mimeType: 'application/yaml', buffer: Buffer.from(before) })
  await page.click(test('import'))
  await page.waitForFunction(() => document.querySelector('[data-test="imported"]')?.textContent.startsWith('0 added, 0 changed'))
  assert.equal(await (await fetch(`${daemon.origin}/api/catalog/export`)).text(), before)
  await page.click(test('tab-products'))
  await page.emulateMedia({ colorScheme: 'dark' })
  await page.waitForSelector(test('item'))
  await shot(page, 'farm-products-night')

  // what is typed is not lost by a touch beside it
  await page.click(test('add'))
  await page.fill(test('in-name'), 'Winter rye')
  await page.keyboard.press('Escape')
  await page.waitForSelector(test('close-unsaved'))
  assert.equal(await page.inputValue(test('in-name')), 'Winter rye')
  await page.click(test('stay'))
  await page.waitForSelector(test('close-sheet'))
  assert.equal(await page.inputValue(test('in-name')), 'Winter rye')
  await page.fill(test('in-name'), '')
  await page.fill(test('in-name'), 'Winter rye')
  await page.click(test('close-sheet'))
  await shot(page, 'farm-unsaved-night')
  await page.click(test('close-unsaved'))
  await page.waitForSelector(test('farm-sheet'), { state: 'detached' })
  assert.deepEqual(seen.errors.filter((e) => !e.includes('422')), [])
  assert.deepEqual(seen.failed.filter((e) => !e.startsWith('422')), [])
})

check('two pages change one field: both are told, none is lost', patience, async (t) => {
  const daemon = await board(t)
  await daemon.post('/api/catalog/fields', { name: 'Long Meadow', note: 'dry' })
  const context = await screen(t, phone)
  const pages = [await open(context, daemon.origin), await open(context, daemon.origin)]
  for (const page of pages) {
    await page.bringToFront()
    await more(page, 'farm')
    await page.click(test('item'))
    await page.waitForSelector(test('in-name'))
  }
  const [first, second] = pages
  await first.bringToFront()
  await fill(first, { name: 'Long Meadow East', note: 'wet at the gate' })
  await first.click(test('save'))
  await saved(first)
  await second.bringToFront()
  await fill(second, { note: 'stones in the south' })
  await second.click(test('save'))
  await second.waitForSelector(test('conflict'))
  await shot(second, 'farm-conflict-phone-day')
  // what stands is what the first said, until the second has chosen
  const now = async () => { const [f] = await items(daemon, 'fields'); return [f.name, f.note, f.revision] }
  assert.deepEqual(await now(), ['Long Meadow East', 'wet at the gate', 2])
  assert.equal(await second.isDisabled(test('conflict-save')), true, 'both changed the note: somebody must choose')
  assert.equal(await second.getAttribute(test('theirs-name'), 'aria-pressed'), 'true', 'the name that only the other changed holds')
  await second.click(test('mine-note'))
  await second.click(test('conflict-save'))
  await saved(second)
  assert.deepEqual(await now(), ['Long Meadow East', 'stones in the south', 3])
  // the first goes on from what it saw, and is told too
  await first.bringToFront()
  await fill(first, { name: 'Long Meadow West' })
  await first.click(test('save'))
  await first.waitForSelector(test('conflict'))
  await first.click(test('conflict-save'))
  await saved(first)
  assert.deepEqual(await now(), ['Long Meadow West', 'stones in the south', 4])
  await shot(first, 'farm-field-phone-day')
  await first.click(test('back'))
  await first.click(test('tab-implements'))
  await first.click(test('add'))
  await first.focus(test('in-hitch_to_bar_m'))
  await first.waitForSelector(`${test('topview')}[data-active="hitch_to_bar_m"]`)
  await first.emulateMedia({ colorScheme: 'dark' })
  await shot(first, 'farm-implement-phone-night')
  await until(async () => (await first.evaluate(() => document.documentElement.scrollWidth <= innerWidth)), 'nothing stands out of the phone')
})
