// The pixels of the map against the written results of the same session.

import assert from 'node:assert/strict'
import { readFileSync } from 'node:fs'
import { join } from 'node:path'
import { test as check } from 'node:test'
import { drawbar, folder, pause, session, start, until } from './daemon.mjs'
import { figure } from './figures.mjs'
import { metresAround, polygonsOf, within } from './ground.mjs'
import { hex, mapPixels, metresPerPixel, near, place } from './pixels.mjs'
import { hook, open, painted, screen, shot, test, watch, without } from './screen.mjs'

/** By day, as in src/look.ts; the ends of the scale of rates as in src/colour.ts. */
const colour = { bare: hex('#f1ecdf'), covered: hex('#4c8f6c'), twice: hex('#2c5f48'), ink: hex('#11181c'), edge: hex('#ffffff'), skip: hex('#b01116') }

const mill = session('mill-piece')
const read = (dir, name) => JSON.parse(readFileSync(join(dir, `${name}.geojson`), 'utf8'))

/** replayed serves the session at its end. */
async function replayed(t) {
  const daemon = await start(t, ['replay', '--serve', '--listen', '127.0.0.1:0', '--config', join(mill, 'config.yaml'), join(mill, 'input.capture')])
  const { replay } = await until(() => daemon.get('/api/state'), 'the core has started')
  await daemon.post('/api/replay', { at: replay.end, playing: false })
  await until(async () => { const s = await daemon.get('/api/state'); return s.replay.at === replay.end && s.operation.area.covered_m2 > 27_000 }, 'the end is shown')
  return daemon
}

/** look moves the map, north up, so that a place is in its middle. */
async function look(page, at) {
  const box = await page.locator(test('map')).boundingBox()
  const middle = { x: box.x + box.width / 2, y: box.y + box.height / 2 }
  for (let i = 0; i < 12; i++) {
    const { camera } = await hook(page)
    const p = place(camera, box, at)
    const by = { x: Math.max(-300, Math.min(300, box.width / 2 - p.x)), y: Math.max(-250, Math.min(250, box.height / 2 - p.y)) }
    if (Math.hypot(by.x, by.y) < 6) return
    await page.mouse.move(middle.x, middle.y)
    await page.mouse.down()
    await page.mouse.move(middle.x + by.x / 2, middle.y + by.y / 2)
    await page.mouse.move(middle.x + by.x, middle.y + by.y)
    await pause(250) // so that it does not go on by itself
    await page.mouse.up()
    await pause(150)
  }
  throw new Error(`the map cannot be moved to ${at}`)
}

check('pixels are what the files say', { skip: without, timeout: 240_000 }, async (t) => {
  const out = folder(t)
  await drawbar('replay', '--config', join(mill, 'config.yaml'), '--out', out, join(mill, 'input.capture'))
  const daemon = await replayed(t)
  const page = await open(await screen(t), daemon.origin, 'day')
  const seen = watch(page)
  await painted(page)
  await page.click(test('orientation'))
  await until(async () => (await hook(page)).camera.bearing === 0, 'north is up')

  const covered = polygonsOf(read(out, 'covered'))
  const overlap = polygonsOf(read(out, 'overlap'))
  const unclosed = read(out, 'skips').features.filter((f) => f.properties.closed === null)
  const skips = polygonsOf({ features: unclosed })
  const boundary = polygonsOf(JSON.parse(readFileSync(join(mill, 'boundary.geojson'), 'utf8')))
  const marks = read(out, 'marks').features.map((f) => f.geometry.coordinates)
  const swaths = read(out, 'swaths').features.map((f) => ({ tanks: f.properties.tanks, polygons: polygonsOf({ features: [f] }) }))
  const { machine, operation } = await daemon.get('/api/state')
  const avoid = [machine.antenna, ...marks, ...machine.bar]
  const labels = unclosed.map((f) => [f.properties.lon, f.properties.lat])

  // Places: a net over the field and around it, and inside each overlap. What a place
  // is comes from the files alone; half a metre to the nearest edge of anything.
  const m = metresAround(covered[0][0][0])
  const [minLon, maxLon, minLat, maxLat] = [-0.0022, 0.0012, 53.2998, 53.3016]
  const net = []
  for (let lat = minLat; lat < maxLat; lat += 2.1e-5) for (let lon = minLon; lon < maxLon; lon += 3.5e-5) net.push([lon, lat])
  for (const ring of overlap.flat()) {
    for (let i = 0; i + 6 < ring.length; i += 3) net.push([(ring[i][0] + ring[i + 6][0]) / 2, (ring[i][1] + ring[i + 6][1]) / 2])
  }
  const clearM = 0.5
  const kind = (p) => {
    const [c, o, s, b] = [covered, overlap, skips, boundary].map((polygons) => within(m, polygons, p))
    if (Math.min(c.edgeM, s.edgeM, b.edgeM) < clearM) return null
    if (o.edgeM < (o.inside ? clearM * 0.6 : clearM)) return null // overlaps here are little wider than a metre
    return s.inside ? 'skip' : o.inside ? 'overlap' : c.inside ? 'covered' : 'bare'
  }
  const told = new Map()
  for (const p of net) {
    if (avoid.some((a) => m(a, p) < 12)) continue
    const k = kind(p)
    if (k !== null) told.set(k, [...(told.get(k) ?? []), p])
  }
  assert.deepEqual([...told.keys()].sort(), ['bare', 'covered', 'overlap', 'skip'], 'there are places of each kind')

  const tally = { bare: 0, covered: 0, overlap: 0, skip: 0, rate: 0 }
  const wrong = []
  const spread = (list, n) => list.filter((_, i) => i % Math.max(1, Math.floor(list.length / n)) === 0)
  const centres = [...spread(told.get('overlap'), 3), ...spread(told.get('skip'), 2)].slice(0, 5)
  for (const [v, centre] of centres.entries()) {
    await look(page, centre)
    await pause(1200)
    await painted(page)
    const { camera } = await hook(page)
    const image = await mapPixels(page)
    await shot(page, `replay-tablet-day-${v}`)
    const metre = 1 / metresPerPixel(camera)
    for (const [k, list] of told) {
      for (const p of list) {
        const at = place(camera, image, p)
        const got = image.at(at.x, at.y)
        if (got === null) continue
        if (labels.some((l) => { const q = place(camera, image, l); return Math.abs(q.x - at.x) < 50 && Math.abs(q.y - at.y) < 16 })) continue
        // the hatch has strokes of dark and light on the ground of an overlap: the pixels within a third of a metre
        const beside = []
        const r = Math.max(1, Math.floor(0.3 * metre))
        for (let dy = -r; dy <= r; dy++) for (let dx = -r; dx <= r; dx++) { const c = image.at(at.x + dx, at.y + dy); if (c !== null) beside.push(c) }
        const right = k === 'covered' ? near(got, colour.covered)
          : k === 'overlap' ? beside.some((c) => near(c, colour.twice, 24)) && !beside.some((c) => near(c, colour.covered, 6)) || beside.every((c) => [colour.twice, colour.ink, colour.edge].some((h) => near(c, h, 60)))
            : near(got, colour.bare) // skipped ground is bare; its outline is checked below
        tally[k]++
        if (!right) wrong.push(`${k} at ${p.map((x) => x.toFixed(7))}: ${got} in view ${v}`)
      }
    }
    // the outline of skips that are large enough to see
    for (const ring of skips.flat()) {
      const mids = ring.slice(1).map((q, i) => [(q[0] + ring[i][0]) / 2, (q[1] + ring[i][1]) / 2])
      for (const q of spread(mids, 4)) {
        const at = place(camera, image, q)
        if (image.at(at.x, at.y) === null || avoid.some((a) => m(a, q) < 12)) continue
        tally.outline = (tally.outline ?? 0) + 1
        const beside = []
        for (let dy = -6; dy <= 6; dy++) for (let dx = -6; dx <= 6; dx++) { const c = image.at(at.x + dx, at.y + dy); if (c !== null) beside.push(c) }
        if (!beside.some((c) => near(c, colour.skip, 40))) wrong.push(`outline of a skip at ${q.map((x) => x.toFixed(7))}: no ${colour.skip} there in view ${v}`)
      }
    }
  }

  // by rate: the colour of a place against the rate of the last swath over it
  await page.click(test('legend-open'))
  await page.click(test('colour-rate'))
  await page.click(test('legend-open'))
  await pause(2500)
  await shot(page, 'replay-rate')
  const { camera } = await hook(page)
  const image = await mapPixels(page)
  // its scale at 0.5, 0.75, 1, 1.25 and 1.5 of the target, Cividis as in src/colour.ts
  const scale = ['#00204d', '#414d6b', '#7c7b78', '#bcaf6f', '#ffea46'].map(hex)
  const inScale = (ratio) => {
    const at = Math.min(3.9999, Math.max(0, (ratio - 0.5) / 0.25))
    return scale[Math.floor(at)].map((c, i) => c + (scale[Math.floor(at) + 1][i] - c) * (at % 1))
  }
  for (const p of told.get('covered').filter((_, i) => i % 7 === 0)) {
    const at = place(camera, image, p)
    const got = image.at(at.x, at.y)
    if (got === null) continue
    const here = swaths.filter((s) => { const w = within(m, s.polygons, p); return w.inside && w.edgeM > 0.05 })
    const tank = here[0]?.tanks.find((x) => x.tank === 1)
    if (here.length !== 1 || tank?.rate == null || !(tank.target > 0)) continue
    if (labels.some((l) => { const q = place(camera, image, l); return Math.abs(q.x - at.x) < 50 && Math.abs(q.y - at.y) < 16 })) continue
    tally.rate++
    const want = inScale(tank.rate / tank.target)
    if (!near(got, want, 16)) wrong.push(`rate ${tank.rate} of ${tank.target} at ${p.map((x) => x.toFixed(7))}: ${got}, want about ${want.map(Math.round)}`)
  }
  figure(`pixels: ${Object.entries(tally).map(([k, n]) => `${n} ${k}`).join(', ')} places looked at, ${wrong.length} wrong; covered by the state ${operation.area.covered_m2.toFixed(0)} m2`)
  assert.deepEqual(wrong, [])
  for (const [k, n] of Object.entries(tally)) assert.ok(n >= (k === 'skip' ? 5 : 10), `${k}: only ${n} places were in sight`)
  assert.deepEqual([seen.errors, seen.failed, seen.foreign], [[], [], []])
})
