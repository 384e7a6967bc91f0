import { beforeEach, expect, test } from 'vitest'
import { connect, type Stream, type Surroundings } from './events'
import type { Happening } from './store'

class Opened implements Stream {
  listeners = new Map<string, (event: { data?: unknown }) => void>()
  closed = false
  constructor(readonly url: string) {}
  addEventListener(name: string, listener: (event: { data?: unknown }) => void) { this.listeners.set(name, listener) }
  close() { this.closed = true }
  send(name: string, data?: unknown) { this.listeners.get(name)?.({ data }) }
}

/** Surroundings with a clock that only advance() moves. */
class Bench implements Surroundings {
  time = 0
  opened: Opened[] = []
  told: Happening[] = []
  refusals = 0
  lastWork: number | null = null
  private timers: { at: number; what: () => void }[] = []
  open(url: string) { const o = new Opened(url); this.opened.push(o); return o }
  now() { return this.time }
  after(ms: number, what: () => void) {
    const timer = { at: this.time + ms, what }
    this.timers.push(timer)
    return () => { this.timers = this.timers.filter((t) => t !== timer) }
  }
  tell(h: Happening) { this.told.push(h) }
  last() { return this.lastWork }
  refused() { this.refusals++ }
  advance(ms: number) {
    const end = this.time + ms
    for (;;) {
      const next = this.timers.filter((t) => t.at <= end).sort((a, b) => a.at - b.at)[0]
      if (next === undefined) break
      this.timers = this.timers.filter((t) => t !== next)
      this.time = next.at
      next.what()
    }
    this.time = end
  }
  get latest(): Opened {
    const o = this.opened.at(-1)
    if (o === undefined) throw new Error('nothing was opened')
    return o
  }
}

let bench: Bench
beforeEach(() => { bench = new Bench() })

test('hands on what arrives, and passes over half an event', () => {
  connect(bench)
  expect(bench.latest.url).toBe('/events')
  bench.latest.send('work', '{"first":1,"last":1,"pieces":[]}')
  bench.latest.send('redraw', '{"work":7}')
  bench.latest.send('state', '{"x":')
  expect(bench.told).toEqual([{ kind: 'work', event: { first: 1, last: 1, pieces: [] } }, { kind: 'redraw', work: 7 }])
})

test('comes back with the last piece, at longer and longer pauses', () => {
  connect(bench)
  bench.lastWork = 12
  const pauses: number[] = []
  for (let i = 0; i < 6; i++) {
    const before = bench.opened.length
    bench.latest.send('error')
    const from = bench.time
    while (bench.opened.length === before) bench.advance(100)
    pauses.push(bench.time - from)
    expect(bench.latest.url).toBe('/events?work=12')
  }
  expect(pauses).toEqual([500, 1000, 2000, 4000, 4000, 4000])
  expect(bench.told).toContainEqual({ kind: 'link', link: 'lost' })
  expect(bench.refusals).toBe(6)
  expect(bench.opened.slice(0, -1).every((o) => o.closed)).toBe(true)
})

test('a stream that falls silent counts as lost; a late word of it is not heard', () => {
  connect(bench)
  const dead = bench.latest
  bench.advance(10_000)
  expect(bench.opened.length).toBeGreaterThan(1)
  const told = bench.told.length
  dead.send('redraw', '{"work":7}')
  expect(bench.told.length).toBe(told)
})

test('a stream that opens and says nothing is given up sooner than one that spoke', () => {
  connect(bench)
  bench.advance(1_500)
  expect(bench.opened).toHaveLength(2)
  bench.latest.send('redraw', '{"work":1}')
  bench.advance(5_000)
  expect(bench.opened).toHaveLength(2)
  bench.advance(4_000)
  expect(bench.opened.length).toBeGreaterThan(2)
})

test('six dead connections cost seconds, not a quarter of a minute; a slow network gets longer and longer', () => {
  connect(bench)
  const at = [0]
  while (at.length < 12) {
    const before = bench.opened.length
    while (bench.opened.length === before) bench.advance(50)
    at.push(bench.time)
  }
  const patience = at.slice(1).map((t, i) => t - (at[i] ?? 0))
  expect(at[6]).toBeLessThan(8_000)
  expect(patience[0]).toBeLessThanOrEqual(1_250)
  expect(patience.at(-1)).toBeGreaterThanOrEqual(4_000)
  expect(patience.at(-1)).toBeLessThanOrEqual(4_500)
})

test('a stream that speaks stays', () => {
  connect(bench)
  for (let i = 0; i < 60; i++) { bench.advance(1000); bench.latest.send('redraw', '{"work":1}') }
  expect(bench.opened).toHaveLength(1)
})

test('after sleep it looks at once, and after the end never again', () => {
  const connection = connect(bench)
  bench.latest.send('error')
  connection.check()
  expect(bench.opened).toHaveLength(2)
  connection.check()
  expect(bench.opened, 'a live stream is left alone').toHaveLength(2)
  connection.close()
  bench.advance(60_000)
  expect(bench.opened).toHaveLength(2)
  expect(bench.latest.closed).toBe(true)
})
