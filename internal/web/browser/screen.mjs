// The page in Chromium, watched: what it says on the console, what it asks for.

import { existsSync, mkdirSync, mkdtempSync, readdirSync, readFileSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join, resolve } from 'node:path'
import { chromium } from 'playwright-core'
import { until } from './daemon.mjs'

const executable = process.env.CHROMIUM ?? '/usr/bin/chromium'
const shots = resolve(import.meta.dirname, '../shots')

/** without is why these tests cannot run here; false where they can. Where CI=true they must. */
export const without = existsSync(executable) || process.env.CI === 'true' ? false : `no Chromium at ${executable}: apt-get install chromium, or name it with CHROMIUM`

export const tablet = { viewport: { width: 1280, height: 800 } }
export const phone = { viewport: { width: 390, height: 844 }, deviceScaleFactor: 2, hasTouch: true, isMobile: true }

const args = [
  '--headless=new', '--no-sandbox', '--disable-quic', '--no-first-run', '--disable-background-networking', '--disable-component-update',
  '--disable-sync', '--use-gl=angle', '--use-angle=swiftshader', '--enable-unsafe-swiftshader', '--noerrdialogs',
]

/** screen starts a browser with an empty profile; options are those of a playwright context. */
export async function screen(t, options = tablet) {
  const profile = mkdtempSync(join(tmpdir(), 'drawbar-profile-'))
  const context = await chromium.launchPersistentContext(profile, {
    executablePath: executable, headless: false, args, colorScheme: 'light', locale: 'en-GB', timeout: 60_000, ...options,
  })
  t.after(async () => {
    await context.close()
    rmSync(profile, { recursive: true, force: true, maxRetries: 3 })
  })
  context.setDefaultTimeout(20_000)
  /** asleep stops (or lets go on) the processes that run the page, as a device that sleeps does. */
  const asleep = (yes) => {
    let n = 0
    for (const pid of readdirSync('/proc').filter((name) => /^\d+$/.test(name))) {
      let line = ''
      try { line = readFileSync(`/proc/${pid}/cmdline`, 'utf8') } catch { continue } // it has ended meanwhile
      if (!line.includes('--type=renderer') || !line.includes(profile)) continue
      process.kill(Number(pid), yes ? 'SIGSTOP' : 'SIGCONT')
      n++
    }
    if (n === 0) throw new Error(`no page runs in ${profile}`)
  }
  return Object.assign(context, { asleep })
}

/** watch gathers what goes wrong in a page. */
export function watch(page) {
  const seen = { errors: [], failed: [], foreign: [], requests: 0 }
  const origin = () => { try { return new URL(page.url()).origin } catch { return '' } }
  page.on('console', (m) => { if (m.type() === 'error' || m.type() === 'warning') seen.errors.push([m.text(), m.location().url].filter((s) => s !== '').join(' at ')) })
  page.on('pageerror', (e) => seen.errors.push(String(e.stack)))
  // the map takes back requests for tiles that it needs no more, and a page that is left ends its events
  const takenBack = (r) => r.failure()?.errorText === 'net::ERR_ABORTED' && /^(\/past\/[^/]+)?\/(tiles\/|events$)/.test(new URL(r.url()).pathname)
  page.on('requestfailed', (r) => takenBack(r) || seen.failed.push(`${r.method()} ${r.url()}: ${r.failure()?.errorText}`))
  page.on('response', (r) => { if (r.status() >= 400) seen.failed.push(`${r.status()} ${r.url()}`) })
  page.on('request', (r) => {
    seen.requests++
    const url = new URL(r.url())
    if (/^https?:$/.test(url.protocol) && url.origin !== origin() && page.url() !== 'about:blank') seen.foreign.push(r.url())
  })
  return seen
}

/** open opens the page and acknowledges the safety line. */
export async function open(context, url, look = null) {
  const page = context.pages().find((p) => p.url() === 'about:blank') ?? await context.newPage()
  if (look !== null) await page.emulateMedia({ colorScheme: look === 'day' ? 'light' : 'dark' })
  await page.goto(url)
  await acknowledge(page)
  return page
}

export const test = (name) => `[data-test="${name}"]`

export async function acknowledge(page) {
  await page.click(test('safety-ok'))
  await page.waitForSelector(test('safety'), { state: 'detached' })
}

/** more opens a sheet that lies behind More, by the key of its entry. */
export async function more(page, key) {
  await page.click(test('open-more'))
  await page.click(test(`open-${key}`))
}

/** hook is what the map says it has drawn; null before that. */
export function hook(page) {
  return page.evaluate(() => {
    const { lastWork, tilesRevision, livePieces, camera } = document.documentElement.dataset
    if (lastWork === undefined || camera === undefined) return null
    const [lon, lat, zoom, bearing] = camera.split(' ').map(Number)
    return { work: Number(lastWork), revision: Number(tilesRevision), pieces: Number(livePieces), camera: { lon, lat, zoom, bearing } }
  })
}

/** painted waits until the map has drawn tiles. */
export const painted = (page, ms = 30_000) => until(() => hook(page), 'the map has drawn its tiles', ms)

/** shot keeps a picture for people to look at. */
export async function shot(page, name) {
  mkdirSync(shots, { recursive: true })
  await page.screenshot({ path: join(shots, `${name}.png`) })
}
