// A network between page and daemon that can go silent, as Wi-Fi does: nothing is
// closed, nothing gets through.

import { connect, createServer } from 'node:net'

/** wire gives origin, the daemon's page through it; silence() and heal(). What was open before a silence stays dead after it. */
export async function wire(t, port) {
  const open = new Set()
  let silent = false
  const server = createServer((near) => {
    const pair = { near, far: null }
    open.add(pair)
    near.on('error', () => undefined)
    near.on('close', () => { pair.far?.destroy(); open.delete(pair) })
    if (silent) { near.pause(); return }
    const far = connect(port, '127.0.0.1')
    pair.far = far
    far.setNoDelay(true)
    near.setNoDelay(true)
    far.on('error', () => near.destroy())
    far.on('close', () => near.destroy())
    near.pipe(far)
    far.pipe(near)
  })
  await new Promise((done) => { server.listen(0, '127.0.0.1', done) })
  t.after(() => {
    for (const { near, far } of open) { near.destroy(); far?.destroy() }
    server.close()
  })
  return {
    origin: `http://127.0.0.1:${server.address().port}`,
    silence() {
      silent = true
      for (const { near, far } of open) {
        near.unpipe()
        near.pause()
        far?.unpipe()
        far?.pause()
      }
    },
    heal() { silent = false },
  }
}
