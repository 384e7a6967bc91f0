// The start of the page: the store, the stream of events and the screen.

import { render } from 'preact'
import { api } from './api'
import { base } from './base'
import { connect, type Connection } from './events'
import { looks, wear } from './look'
import { giveUp } from './map/load'
import { StoreContext } from './panel/common'
import { Screen } from './panel/Screen'
import { createStore } from './store'

wear(matchMedia('(prefers-color-scheme: dark)').matches ? 'night' : 'day', document.documentElement)
document.querySelector('meta[name="theme-color"]')?.setAttribute('content', looks.day.text)

const store = createStore()
let connection: Connection | null = null

let asking = false

function askAccess(): void {
  if (asking) return
  asking = true
  void api.access().then((answer) => {
    asking = false
    if (answer.ok) store.tell({ kind: 'access', access: answer.value })
  })
}

/** awake keeps the screen lit while it is seen, where the browser can. */
function awake(): void {
  if (document.visibilityState === 'visible') navigator.wakeLock?.request('screen').catch(() => undefined)
}

/** begin asks who this is and, where it may look, starts to listen. */
async function begin(): Promise<void> {
  const access = await api.access()
  if (access.ok) store.tell({ kind: 'access', access: access.value })
  if (access.ok && access.value.role === 'none') return
  if (access.ok && access.value.role === 'helper') {
    location.replace('/marks') // the page that it is let in to
    return
  }
  const state = await api.state()
  if (state.ok) store.tell({ kind: 'state', state: state.value, at: performance.now() })
  connection?.close()
  connection = connect({
    open: (url) => {
      giveUp()
      return new EventSource(base + url) as unknown as ReturnType<Parameters<typeof connect>[0]['open']>
    },
    now: () => performance.now(),
    after: (ms, what) => {
      const timer = setTimeout(what, ms)
      return () => clearTimeout(timer)
    },
    tell: (h) => {
      const { link, access: known } = store.get()
      store.tell(h)
      // back again: what this device may do can have changed meanwhile
      if (h.kind === 'state' && (link !== 'live' || known === null)) askAccess()
    },
    last: () => { const m = store.get(); return m.ground.revision < 0 ? null : m.ground.last },
    refused: askAccess,
  })
}

setInterval(() => store.tell({ kind: 'clock', now: performance.now() }), 500)
document.addEventListener('visibilitychange', () => {
  if (document.visibilityState !== 'visible') return
  store.tell({ kind: 'clock', now: performance.now() })
  connection?.check()
  awake()
})
awake()
window.addEventListener('online', () => connection?.check())

const root = document.getElementById('screen')
if (root !== null) {
  render(<StoreContext.Provider value={store}><Screen again={() => void begin()} /></StoreContext.Provider>, root)
}
void begin()

if (base === '' && 'serviceWorker' in navigator) {
  navigator.serviceWorker.register('/sw.js').catch(() => undefined) // without it the page works, but not while the daemon is away
}
