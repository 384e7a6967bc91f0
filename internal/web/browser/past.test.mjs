// Past work: found in the list and on the map, looked at with the slider, corrected with
// the figures before and after, taken back, weighed. The figures by hand are those of
// testdata/sessions/two-tanks/about.md.

import assert from 'node:assert/strict'
import { readFileSync } from 'node:fs'
import { join } from 'node:path'
import { test as check } from 'node:test'
import { drawbar, folder, start, until } from './daemon.mjs'
import { figure } from './figures.mjs'
import { recorded } from './recorded.mjs'
import { acknowledge, open, phone, screen, shot, tablet, test, watch, without } from './screen.mjs'

/** bench is a daemon on a folder with recorded sessions, and its page with past work open. */
async function bench(t, options, look) {
  const dir = folder(t)
  const { data, names } = await recorded(dir, 'two-tanks', 'mill-piece', 'pond')
  const daemon = await start(t, ['run', '--gnss', 'tcp://127.0.0.1:9', '--data', data, '--listen', '127.0.0.1:0'])
  const context = await screen(t, options)
  const page = await open(context, daemon.origin, look)
  const seen = watch(page)
  await until(async () => { const l = await daemon.get('/api/work'); return l.waiting === 0 && l.operations.length === 3 }, 'all sessions are worked out', 60_000)
  await past(page)
  return { data, names, daemon, page, seen }
}

async function past(page) {
  await page.click(test('open-more'))
  await page.click(test('open-past'))
  await page.waitForSelector(test('past-list'))
}

const field = async (page, name) => page.click(`${test('past-open')}:has-text("${name}")`)
/** settled waits until the session's figures are those of its corrections. */
const settled = (page) => page.waitForSelector(`${test('past-detail')}[data-state="current"]`, { timeout: 30_000 })
const replayed = async (data, name) => JSON.parse(await drawbar('replay', '--json', join(data, `${name}.mcap`)))

check('past work is found, looked at, corrected and taken back', { skip: without, timeout: 300_000 }, async (t) => {
  const { data, names, daemon, page, seen } = await bench(t, tablet, 'day')
  assert.equal(await page.locator(test('past-open')).count(), 3)
  await shot(page, 'past-list-day')
  await page.click(test('past-view-map'))
  await until(() => page.evaluate(() => Number(document.querySelector('.past-map-canvas')?.dataset.drawn ?? 0) > 3), 'the outlines are drawn', 30_000)
  await shot(page, 'past-map-day')
  await page.click(test('past-view-totals'))
  await page.waitForSelector(test('total'))
  await shot(page, 'past-totals-day')
  await page.click(`${test('total')}:has-text("Long Meadow") ${test('total-open')}`)
  await page.waitForSelector(test('filter-field'))
  await until(async () => await page.locator(test('past-open')).count() === 1, 'drilled down to one operation')

  // corrected
  const first = JSON.stringify(await replayed(data, names[0]))
  await field(page, 'Long Meadow')
  await page.waitForSelector(test('past-products'))
  assert.match(await page.textContent(test('past-product-1')), /Spring oats.*7\.3 kg/)
  await shot(page, 'past-operation-day')
  await page.click(test('past-do-correct'))
  await page.fill(test('product'), 'Winter barley')
  await page.click(test('try-correction'))
  assert.match(await page.textContent(`${test('correct-form')} ${test('fault')}`), /reason/i)
  await page.fill(test('why'), 'the wrong bag was in the tank')
  await page.fill(test('by'), 'Farm manager')
  const began = performance.now()
  await page.click(test('try-correction'))
  await page.waitForSelector(test('before-after'))
  figure(`past: before and after of a short session ${((performance.now() - began) / 1000).toFixed(2)} s after asking`)
  const table = await page.textContent(test('before-after'))
  assert.match(table, /Spring oats/)
  assert.match(table, /Winter barley/)
  await shot(page, 'past-before-after-day')
  await page.click(test('write-correction'))
  await page.waitForSelector(test('past-told'))
  await page.waitForSelector(test('correction-1'))
  await until(async () => /Winter barley/.test(await page.textContent(test('past-products'))), 'the figures are worked out anew')
  const trail = await page.textContent(test('correction-1'))
  for (const words of ['Winter barley', 'the wrong bag was in the tank', 'Farm manager']) assert.ok(trail.includes(words), `the trail says ${words}: ${trail}`)
  const after = await replayed(data, names[0])
  assert.equal(after.operations[0].products[0].name, 'Winter barley', 'the command gives what the page does')
  await shot(page, 'past-corrected-day')

  // taken back
  await page.click(test('undo-1'))
  await page.fill(test('undo-1-why'), 'it was the right bag after all')
  await page.click(test('undo-1-yes'))
  await page.waitForSelector(`${test('correction-1')}[data-acts="false"]`)
  await until(async () => /Spring oats/.test(await page.textContent(test('past-products'))), 'the figures are as they were')
  assert.equal(JSON.stringify(await replayed(data, names[0])), first, 'the first bytes are back')
  const lines = readFileSync(join(data, `${names[0]}.corrections.jsonl`), 'utf8').trimEnd().split('\n').map((l) => JSON.parse(l))
  assert.deepEqual([lines.length, lines[1].undo, lines[1].by], [2, 1, 'Farm manager'])

  // weighed: 7.6 kg where 7.25508 kg were metered
  await settled(page)
  await page.click(test('past-do-weighed'))
  await page.fill(test('weighed-amount'), '7.6')
  await page.fill(test('ticket'), 'T-88')
  await page.click(test('try-weighed'))
  await page.waitForSelector(test('before-after'))
  await page.click(test('write-correction'))
  await page.waitForSelector(test('weighing'), { timeout: 30_000 })
  assert.match(await page.textContent(test('weighed-difference')), /\+0\.3 kg, \+4\.8/)
  await page.fill(test('calibration'), '0.025')
  await page.click(test('calibrate'))
  await page.waitForSelector(test('calibrated'))
  const calibrated = await page.textContent(test('calibrated'))
  assert.match(calibrated, /0\.0261885/)
  assert.match(calibrated, /0\.0238654/)
  await settled(page)
  await page.click(test('scale-record'))
  await page.waitForSelector(test('before-after'))
  await page.click(test('write-correction'))
  await page.waitForSelector(test('is-scaled'), { timeout: 30_000 })
  const scaled = await replayed(data, names[0])
  assert.ok(Math.abs(scaled.operations[0].products[0].applied - 7.6) < 0.001, `scaled: ${scaled.operations[0].products[0].applied}`)
  await shot(page, 'past-weighed-day')
  await page.click(test('past-complete'))
  await page.waitForSelector(test('complete'))
  await shot(page, 'past-complete-day')

  // watched with the slider
  await page.click(test('past-watch'))
  await acknowledge(page)
  await page.waitForSelector(test('replay'))
  const at = `/past/${names[0]}`
  await until(async () => (await daemon.get(`${at}/api/state`)).operation?.area.covered_m2 > 600, 'it is shown to its end')
  await page.waitForSelector(test('live-word'))
  await shot(page, 'past-watched-day')
  const { start: begin, end } = (await daemon.get(`${at}/api/state`)).replay
  const middle = (Date.parse(begin) + Date.parse(end)) / 2
  await page.locator(test('replay-slider')).fill(String(Math.round(middle / 1000) * 1000))
  await until(async () => { const s = await daemon.get(`${at}/api/state`); return s.operation?.area.covered_m2 > 50 && s.operation.area.covered_m2 < 600 }, 'the slider moves it')
  assert.equal((await daemon.get('/api/state')).replay, null, 'the run itself shows what it did before')
  await page.click(test('to-now'))
  await page.waitForSelector(test('safety-ok'))
  assert.deepEqual(seen.errors, [])
  assert.deepEqual(seen.foreign, [])
})

check('past work on a phone by night', { skip: without, timeout: 300_000 }, async (t) => {
  const { page } = await bench(t, phone, 'night')
  await shot(page, 'past-list-phone-night')
  await page.click(test('past-view-totals'))
  await page.waitForSelector(test('total'))
  await shot(page, 'past-totals-phone-night')
  await page.click(test('past-view-list'))
  await field(page, 'Mill Piece')
  await page.waitForSelector(test('past-products'))
  await shot(page, 'past-operation-phone-night')
  await page.click(test('past-do-split'))
  await page.fill(test('why'), 'the second day was another job')
  await page.click(test('try-split'))
  await page.waitForSelector(test('before-after'), { timeout: 60_000 })
  await page.locator(test('before-after')).scrollIntoViewIfNeeded()
  await shot(page, 'past-split-phone-night')
  const wide = await page.evaluate(() => {
    const sheet = document.querySelector('dialog[open]')
    return sheet.scrollWidth - sheet.clientWidth
  })
  assert.ok(wide <= 0, `the sheet scrolls sideways by ${wide} px`)
})
