// Every operation of the API, called on the real program: bin/drawbar, or what
// DRAWBAR_BIN names. What an operation gives is held against the document by Witness;
// an operation that nobody calls here makes the last test fail.

import { networkInterfaces } from 'node:os'
import { join } from 'node:path'
import { afterAll, beforeAll, describe, expect, test } from 'vitest'
import { drawbar, folder, session, start, type Daemon } from '../browser/daemon.mjs'
import { access } from './calls/access'
import { catalogue } from './calls/catalog'
import { corrections } from './calls/corrections'
import { day } from './calls/day'
import { reading, saying, steering, trying } from './calls/live'
import { marks } from './calls/marks'
import { alarmed, shown } from './calls/other'
import { recorded } from './calls/records'
import { kept, Witness, type Api } from './witness'

// what daemon.mjs wants of a test: what to do when all is over
const cleanups: (() => unknown)[] = []
const t = { after: (f: () => unknown) => { cleanups.unshift(f) } }
afterAll(async () => { for (const f of cleanups) await f() }, 60_000)

const outside = Object.values(networkInterfaces()).flat().find((a) => a?.family === 'IPv4' && !a.internal)?.address
const witness = new Witness()

// The demonstration works Mill Piece at a usual pace; two runs before it are recorded.
describe('a live run', () => {
  let daemon: Daemon
  let api: Api
  beforeAll(async () => {
    const data = join(folder(t), 'demo')
    for (let i = 0; i < 2; i++) await drawbar('demo', '--once', '--speed', '250', '--listen', '127.0.0.1:0', '--data', data)
    daemon = await start(t, ['demo', '--speed', '8', '--listen', '0.0.0.0:0', '--data', data])
    api = witness.client(daemon.origin)
  }, 60_000)

  test('its document is the one that the types are made from', async () => {
    const served = (await (await fetch(`${daemon.origin}/openapi.json`)).text()).split('\n')
    const line = kept.split('\n').findIndex((l, i) => l !== served[i])
    expect(line < 0 ? '' : `line ${line + 1}: kept ${String(kept.split('\n')[line])}, served ${String(served[line])}`).toBe('')
  })
  test('reading', async () => { await reading(api, witness) }, 60_000)
  test('saying', async () => { await saying(api) }, 30_000)
  test('field and boundary', async () => { await steering(api) }, 30_000)
  test('another line profile', async () => { await trying(api) }, 30_000)
  test('the catalogue', async () => { await catalogue(api) }, 60_000)
  test('the day', async () => { await day(api) }, 60_000)
  test('marks', async () => { await marks(api) }, 60_000)
  test('recorded work', async () => { await recorded(api) }, 60_000)
  test('corrections', async () => { await corrections(api) }, 120_000)
  test('access', async () => {
    if (outside === undefined) throw new Error('this machine has no address but loopback: devices cannot be paired')
    await access(api, (cookie) => witness.client(`http://${outside}:${daemon.port}`, cookie === '' ? {} : { Cookie: cookie }))
  }, 30_000)
})

test('a recorded session', async () => {
  const daemon = await start(t, ['replay', '--serve', '--listen', '127.0.0.1:0', '--config', `${session('mill-piece')}/config.yaml`, `${session('mill-piece')}/input.capture`])
  await shown(witness.client(daemon.origin))
}, 60_000)

test('a receiver that is not there', async () => {
  const daemon = await start(t, ['run', '--gnss', 'tcp://127.0.0.1:9', '--data', folder(t), '--listen', '127.0.0.1:0'])
  await alarmed(witness.client(daemon.origin))
}, 60_000)

test('every answer was as the document says', () => { expect(witness.faults.join('\n')).toBe('') })
test('every operation was called, and every writing one refused something', () => { expect(witness.left().join('\n')).toBe('') })
