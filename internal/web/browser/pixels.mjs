// Pixels of the map as they are on the screen, and where a place of the ground is among
// them: computed here from the camera alone, not by the map.

import { inflateSync } from 'node:zlib'

/** What lies over the map. */
const over = '.notices > *, .map-buttons, .map-foot > *, .follow, .toasts, .replay'

/** mapPixels is what the map shows. at(x, y) is [red, green, blue] at a CSS pixel, null outside and where a button or notice lies over the map. */
export async function mapPixels(page) {
  const covering = () => page.evaluate((what) => {
    const map = document.querySelector('[data-test="map"]').getBoundingClientRect()
    return [...document.querySelectorAll(what)].map((e) => e.getBoundingClientRect()).map((r) => ({ left: r.left - map.left - 2, top: r.top - map.top - 2, right: r.right - map.left + 2, bottom: r.bottom - map.top + 2 }))
  }, over)
  const before = await covering()
  const image = await shotPixels(page, '[data-test="map"]')
  const covers = [...before, ...await covering()] // notices come and go
  return { ...image, at: (x, y) => (covers.some((r) => x >= r.left && x <= r.right && y >= r.top && y <= r.bottom) ? null : image.at(x, y)) }
}

/** shotPixels is what an element shows. at(x, y) is [red, green, blue] at a CSS pixel, null outside. */
async function shotPixels(page, selector) {
  const png = decode(await page.locator(selector).screenshot({ scale: 'css', animations: 'disabled' }))
  return {
    ...png,
    at(x, y) {
      const [i, j] = [Math.round(x - 0.5), Math.round(y - 0.5)]
      if (i < 0 || j < 0 || i >= png.width || j >= png.height) return null
      const from = (j * png.width + i) * png.channels
      return [png.data[from], png.data[from + 1], png.data[from + 2]]
    },
  }
}

/** decode reads a PNG of 8 bits a sample without interlacing (ISO/IEC 15948), as browsers write them. */
export function decode(file) {
  let width = 0
  let height = 0
  let channels = 0
  const parts = []
  for (let at = 8; at < file.length;) {
    const length = file.readUInt32BE(at)
    const type = file.toString('latin1', at + 4, at + 8)
    const body = file.subarray(at + 8, at + 8 + length)
    if (type === 'IHDR') {
      width = body.readUInt32BE(0)
      height = body.readUInt32BE(4)
      channels = { 2: 3, 6: 4 }[body[9]]
      if (body[8] !== 8 || channels === undefined || body[12] !== 0) throw new Error('a PNG of another kind')
    }
    if (type === 'IDAT') parts.push(body)
    at += 12 + length
  }
  const raw = inflateSync(Buffer.concat(parts))
  const row = width * channels
  const data = new Uint8Array(row * height)
  for (let y = 0; y < height; y++) {
    const filter = raw[y * (row + 1)]
    for (let x = 0; x < row; x++) {
      const left = x >= channels ? data[y * row + x - channels] : 0
      const up = y > 0 ? data[(y - 1) * row + x] : 0
      const corner = x >= channels && y > 0 ? data[(y - 1) * row + x - channels] : 0
      let guess = 0
      if (filter === 1) guess = left
      else if (filter === 2) guess = up
      else if (filter === 3) guess = (left + up) >> 1
      else if (filter === 4) {
        const p = left + up - corner
        const [a, b, c] = [Math.abs(p - left), Math.abs(p - up), Math.abs(p - corner)]
        guess = a <= b && a <= c ? left : b <= c ? up : corner
      }
      data[y * row + x] = raw[y * (row + 1) + 1 + x] + guess
    }
  }
  return { width, height, channels, data }
}

const mercator = ([lon, lat]) => ({ x: (lon + 180) / 360, y: (1 - Math.asinh(Math.tan((lat * Math.PI) / 180)) / Math.PI) / 2 })

/** The world at zoom 0, CSS pixels. */
const world = 512

/** place is where a place of the ground is on the map with north up, CSS pixels from its corner. */
export function place(camera, { width, height }, at) {
  if (camera.bearing !== 0) throw new Error(`north is not up: ${camera.bearing}`)
  const [c, p] = [mercator([camera.lon, camera.lat]), mercator(at)]
  const scale = world * 2 ** camera.zoom
  return { x: width / 2 + (p.x - c.x) * scale, y: height / 2 + (p.y - c.y) * scale }
}

/** metresPerPixel on the ground. */
export const metresPerPixel = (camera) => (40_075_016.686 * Math.cos((camera.lat * Math.PI) / 180)) / (world * 2 ** camera.zoom)

/** near tells whether two colours are the same to the eye. */
export const near = (a, b, by = 14) => a.every((v, i) => Math.abs(v - b[i]) <= by)

export const hex = (text) => [1, 3, 5].map((at) => Number.parseInt(text.slice(at, at + 2), 16))

/** differing is the part of the pixels that differ to the eye between two pictures of one size; only those count that both show. */
export function differing(a, b) {
  if (a.width !== b.width || a.height !== b.height) throw new Error('pictures of two sizes')
  let [n, all] = [0, 0]
  for (let y = 0.5; y < a.height; y++) {
    for (let x = 0.5; x < a.width; x++) {
      const [p, q] = [a.at(x, y), b.at(x, y)]
      if (p === null || q === null) continue
      all++
      if (!near(p, q, 24)) n++
    }
  }
  return n / all
}
