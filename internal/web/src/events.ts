// The stream of events, kept up: it comes back after sleep, after a restart of the
// daemon and after the network was gone, and asks for the work since the last piece.

import type { Happening } from './store'
import type { Redraw, State, WorkEvent } from './wire'

/** What is needed of an EventSource. */
export interface Stream {
  addEventListener(name: string, listener: (event: { data?: unknown }) => void): void
  close(): void
}

export interface Surroundings {
  open(url: string): Stream
  now(): number
  after(ms: number, what: () => void): () => void
  /** what was heard */
  tell(h: Happening): void
  /** the last piece of work that is known; null before the first state */
  last(): number | null
  /** the stream could not be opened: it may be that this device is not known */
  refused(): void
}

/** Nothing for so long means that the stream is dead, ms; the daemon publishes every second. */
const silence = 6_000
/**
 * A stream that was opened says the state at once; where it does not, it hangs on a
 * dead connection, ms. A browser keeps up to six of these and hands them out one
 * after the other, so these are given up soon; a slow network gets longer then.
 */
const keptByBrowser = 6
const firstPatience = 1_000
const longestPatience = 4_000
const patienceGrows = 1.5
const lookEvery = 250
const firstPause = 500
const longestPause = 4_000

export interface Connection {
  /** looks after the stream at once, as when the screen is seen again */
  check(): void
  close(): void
}

/** connect keeps a stream open until closed. */
export function connect(s: Surroundings): Connection {
  let stream: Stream | null = null
  let pause = firstPause
  let patience = firstPatience
  let hanging = 0 // streams given up since the last word
  let heard = s.now()
  let fresh = true // nothing came on this stream yet
  let cancel: () => void = () => undefined
  let closed = false

  const listen = (on: Stream, name: string, take: (data: unknown) => void) => {
    on.addEventListener(name, (event) => {
      if (stream !== on) return
      heard = s.now()
      fresh = false
      pause = firstPause
      patience = firstPatience
      hanging = 0
      let data: unknown
      try {
        data = JSON.parse(String(event.data))
      } catch {
        return // half an event: the next one counts
      }
      take(data)
    })
  }

  const open = () => {
    cancel()
    stream?.close()
    if (closed) return
    const last = s.last()
    const on = s.open(last === null ? '/events' : `/events?work=${last}`)
    stream = on
    heard = s.now()
    fresh = true
    listen(on, 'state', (data) => s.tell({ kind: 'state', state: data as State, at: s.now() }))
    listen(on, 'work', (data) => s.tell({ kind: 'work', event: data as WorkEvent }))
    listen(on, 'redraw', (data) => s.tell({ kind: 'redraw', work: (data as Redraw).work }))
    listen(on, 'mark', () => s.tell({ kind: 'marks changed' }))
    on.addEventListener('error', () => {
      if (stream === on) lose()
    })
    watch()
  }

  const lose = () => {
    stream?.close()
    stream = null
    s.tell({ kind: 'link', link: 'lost' })
    s.refused()
    cancel()
    cancel = s.after(pause, open)
    pause = Math.min(pause * 2, longestPause)
  }

  /** hung gives up a stream that says nothing: there was pause enough. */
  const hung = () => {
    if (++hanging >= keptByBrowser) patience = Math.min(patience * patienceGrows, longestPatience)
    s.tell({ kind: 'link', link: 'lost' })
    s.refused()
    open()
  }

  const dead = () => s.now() - heard > (fresh ? patience : silence)

  const watch = () => {
    cancel = s.after(lookEvery, () => {
      if (!dead()) watch()
      else if (fresh) hung()
      else lose()
    })
  }

  open()
  return {
    check() {
      if (stream !== null && !dead()) return
      pause = firstPause
      patience = firstPatience
      hanging = 0
      open()
    },
    close() {
      closed = true
      cancel()
      stream?.close()
      stream = null
    },
  }
}
