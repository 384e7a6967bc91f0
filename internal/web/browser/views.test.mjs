// Every view by day and by night, on a tablet and on a phone: what axe finds, what is
// in sight, how large it is, and what fingers must hit.

import assert from 'node:assert/strict'
import { readFileSync } from 'node:fs'
import { createRequire } from 'node:module'
import { test as check } from 'node:test'
import { demo, pause, until } from './daemon.mjs'
import { figure } from './figures.mjs'
import { more, open, painted, phone, screen, shot, tablet, test, without } from './screen.mjs'

const axe = readFileSync(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8')

/** The least size of a main figure, CSS px, and of what is touched: 48 px is what common guides for touch ask for (common practice, no source); WCAG 2.2, 2.5.8 asks for 24. */
const [mainPx, touchPx] = [28, 48]
const mains = ['rate-1', 'level-1', 'rate-2', 'level-2', 'done', 'left']
/** On a tablet also these; on a phone they are a flick away. */
const tabletMains = [...mains, 'overlap', 'skip', 'speed', 'fix']

/** findings are the serious and critical ones of axe, with where they are. */
async function findings(page) {
  if (!(await page.evaluate(() => 'axe' in window))) await page.evaluate(axe)
  const { violations } = await page.evaluate(() => window.axe.run(document, { resultTypes: ['violations'] }))
  return violations.filter((v) => v.impact === 'serious' || v.impact === 'critical')
    .map((v) => `${v.id}: ${v.nodes.map((n) => `${n.target.join(' ')} ${n.any.concat(n.all).map((a) => a.message).join('; ')}`).join(' | ')}`)
}

/** small are the things to touch that are too small, and what reaches out of the screen. */
const small = (page, least) => page.evaluate((px) => {
  const top = document.querySelector('dialog[open]') ?? document
  const seen = (e) => { const r = e.getBoundingClientRect(); return r.width > 0 && r.height > 0 && getComputedStyle(e).visibility !== 'hidden' }
  const bad = []
  for (const e of top.querySelectorAll('button, a[href], input:not([type=checkbox]), select, label.check')) {
    if (!seen(e)) continue
    const r = e.getBoundingClientRect()
    if (r.height < px - 0.5 || (e.tagName !== 'A' && r.width < px - 0.5)) bad.push(`${e.dataset.test ?? e.textContent}: ${r.width.toFixed(0)} x ${r.height.toFixed(0)}`)
  }
  const root = document.documentElement
  if (root.scrollWidth > root.clientWidth) bad.push(`scrolls sideways: ${root.scrollWidth} in ${root.clientWidth}`)
  const sheet = document.querySelector('dialog[open]')
  if (sheet !== null && sheet.scrollWidth > sheet.clientWidth) bad.push(`sheet scrolls sideways: ${sheet.scrollWidth} in ${sheet.clientWidth}`)
  return bad
}, least)

const outOfSight = (page, names) => page.evaluate(({ names, px }) => {
  const bad = []
  for (const name of names) {
    const e = document.querySelector(`[data-test="${name}"]`)
    if (e === null) { bad.push(`${name} is not there`); continue }
    const r = e.getBoundingClientRect()
    const size = Number.parseFloat(getComputedStyle(e).fontSize)
    if (size < px) bad.push(`${name} is ${size} px`)
    if (r.left < 0 || r.top < 0 || r.right > innerWidth || r.bottom > innerHeight) bad.push(`${name} is out of sight: ${r.left.toFixed(0)} ${r.top.toFixed(0)} ${r.right.toFixed(0)} ${r.bottom.toFixed(0)}`)
    const on = document.elementFromPoint((r.left + r.right) / 2, (r.top + r.bottom) / 2)
    // the button of a card lies over all of the card, and is seen through
    if (on === null || !(e.contains(on) || on.contains(e) || e.closest('.card')?.contains(on))) bad.push(`${name} is covered by ${on?.className}`)
  }
  return bad
}, { names, px: mainPx })

const sheet = (button, name) => ({
  name, at: async (page) => { await page.click(test(button)); await page.waitForSelector('dialog[open]') },
  back: async (page) => { await page.click(`dialog[open] ${test('close-sheet')}`); await page.locator(test('close-unsaved')).click({ timeout: 100 }).catch(() => {}); await page.waitForSelector('dialog[open]', { state: 'detached' }) },
})
const behind = (key) => ({ ...sheet('', key), at: async (page) => { await more(page, key); await page.waitForSelector('dialog[open]') } })
/** once is a view that is looked at by day on the tablet and by night on the phone. */
const once = (view) => ({ ...view, once: true })
const nothing = async () => undefined
const views = [
  { name: 'work', at: nothing, back: nothing, main: true },
  { name: 'legend', at: (page) => page.click(test('legend-open')), back: (page) => page.click(test('legend-open')) },
  { name: 'marks', at: async (page) => { await page.click(test('mark')); await page.waitForSelector(test('toast')) }, back: async (page) => { await page.click(test('undo')); await page.waitForSelector(test('toast'), { state: 'detached' }) } },
  sheet('open-field', 'field'),
  { name: 'boundary-work', at: async (page) => { await page.click(test('open-boundary')); await page.waitForSelector(test('boundary-pane')) }, back: nothing },
  { name: 'boundary-drive', at: async (page) => { await page.click(test('boundary-drive')); await page.waitForSelector(test('start-drive')) }, back: async (page) => { await page.click(test('close-boundary')); await page.waitForSelector(test('boundary-pane'), { state: 'detached' }) } },
  sheet('open-more', 'more'),
  once(sheet('open-ready', 'check')),
  once(sheet('open-tank-1', 'tank')),
  once(behind('marks')),
  once({ ...behind('farm'), back: nothing }),
  once({ name: 'farm-products', at: async (page) => { await page.click('dialog[open] >> role=button[name="Products"]'); await page.waitForSelector('dialog[open] >> text=Spring oats') }, back: nothing }),
  once({ name: 'farm-product', at: async (page) => { await page.click('dialog[open] >> text=Spring oats'); await page.waitForSelector('dialog[open] >> role=button[name="Save"]') }, back: sheet('', '').back }),
  once({ ...behind('past'), back: nothing }),
  once({ name: 'past-totals', at: async (page) => { await page.click('dialog[open] >> role=button[name="Totals"]'); await page.waitForSelector('dialog[open] >> role=button[name="Person"]') }, back: nothing }),
  once({ name: 'past-progress', at: async (page) => { await page.click('dialog[open] >> role=button[name="Progress"]'); await page.waitForSelector(test('progress')) }, back: sheet('', '').back }),
  { name: 'arrivals', at: async (page) => { await more(page, 'arrivals'); await page.waitForSelector('dialog[open] td') }, back: nothing },
  { name: 'profile', at: async (page) => { await page.click(test('arrivals-try')); await page.click(test('profile-delimited')) }, back: sheet('', '').back },
  { name: 'settings', at: async (page) => { await more(page, 'settings'); await page.waitForSelector(test('settings-sheet')) }, back: nothing },
  { name: 'devices', at: async (page) => { await page.click(test('open-devices')); await until(async () => /^\d/.test(await page.textContent(test('code'))), 'a code is shown') }, back: sheet('', '').back },
]

for (const [device, options] of [['tablet', { ...tablet, hasTouch: true }], ['phone', phone]]) {
  check(`views on a ${device}`, { skip: without, timeout: 300_000 }, async (t) => {
    const daemon = await demo(t, 2)
    const context = await screen(t, options)
    const page = await open(context, daemon.origin, 'day')
    await painted(page)
    await until(async () => (await daemon.get('/api/state')).operation.area.covered_m2 > 100, 'the demo works')
    const bad = []
    let looked = 0
    await page.evaluate(() => { const b = document.createElement('button'); b.id = 'nameless'; document.querySelector('main').append(b) })
    assert.match((await findings(page)).join(), /button-name/, 'a fault that was put in is found')
    await page.evaluate(() => document.getElementById('nameless').remove())
    for (const look of ['day', 'night']) {
      await page.emulateMedia({ colorScheme: look === 'day' ? 'light' : 'dark' })
      await page.waitForFunction((l) => document.documentElement.dataset.look === l, look)
      for (const v of views) {
        if (v.once === true && (look === 'day') !== (device === 'tablet')) continue
        await v.at(page)
        await pause(150)
        looked++
        await shot(page, `${v.name}-${device}-${look}`)
        const found = [...await findings(page), ...await small(page, touchPx), ...(v.main === true ? await outOfSight(page, device === 'tablet' ? tabletMains : mains) : [])]
        bad.push(...found.map((f) => `${v.name}, ${look}: ${f}`))
        await v.back(page)
      }
    }
    figure(`views on a ${device}: ${looked} looked at, ${bad.length} findings`)
    assert.deepEqual(bad, [])
  })
}

check('alarms, by day and by night', { skip: without, timeout: 120_000 }, async (t) => {
  // A receiver that falls silent: the demo's work at a pace that ends soon, then nothing comes.
  const daemon = await demo(t, 200)
  const context = await screen(t, phone)
  const page = await open(context, daemon.origin, 'day')
  await page.waitForSelector('.alarm', { timeout: 60_000 })
  const bad = []
  for (const look of ['day', 'night']) {
    await page.emulateMedia({ colorScheme: look === 'day' ? 'light' : 'dark' })
    await page.waitForFunction((l) => document.documentElement.dataset.look === l, look)
    await pause(150)
    await shot(page, `alarm-phone-${look}`)
    bad.push(...(await findings(page)).map((f) => `${look}: ${f}`), ...await small(page, touchPx))
  }
  assert.deepEqual(bad, [])
  const title = await page.textContent('.alarm strong')
  const name = (await page.getAttribute('.alarm', 'data-test')).replace('alarm-', '')
  await page.tap(`.alarm ${test('alarm-seen')}`)
  await until(async () => (await daemon.get('/api/state')).alarms.some((a) => a.alarm === name && a.seen), `"${title}" is acknowledged`)
  await page.waitForSelector(test('alarms-seen'))
  await shot(page, 'alarm-seen-phone')
})
