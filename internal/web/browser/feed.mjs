// A simulated session, its lines sent over TCP as a receiver and a controller would
// send them: at their own pace, by this machine's clock.

import { readFileSync, writeFileSync } from 'node:fs'
import { createServer } from 'node:net'
import { join } from 'node:path'
import { drawbar } from './daemon.mjs'

/** simulated writes a session into dir: its lines, and config(feed), which writes the configuration that reads them from a feed. */
export async function simulated(dir, ...options) {
  const out = join(dir, 'simulated')
  await drawbar('simulate', '--out', out, '--field', 'mill-piece', ...options)
  const lines = readFileSync(join(out, 'input.capture'), 'utf8').split('\n').map((line) => /^(\S+) (gnss|controller) (.*)$/.exec(line)).filter((m) => m !== null)
    .map(([, time, stream, text]) => ({ at: Date.parse(time), stream, text }))
  return {
    out, lines,
    config({ gnss, controller }, more = '') {
      const path = join(out, 'live.yaml')
      const text = readFileSync(join(out, 'config.yaml'), 'utf8')
        .replace('tcp://127.0.0.1:5001', `tcp://127.0.0.1:${gnss}`).replace('tcp://127.0.0.1:5002', `tcp://127.0.0.1:${controller}`)
      writeFileSync(path, `${text}${more}`)
      return path
    },
  }
}

/**
 * feed serves the lines from the given second of the session on, as they come due,
 * to whoever is connected. sent maps the time of an epoch (hhmmss.ss) to when its last
 * sentence was written, ms of the clock.
 */
export async function feed(t, lines, { from = 0 } = {}) {
  const sockets = { gnss: new Set(), controller: new Set() }
  const ports = {}
  const servers = []
  for (const stream of ['gnss', 'controller']) {
    const server = createServer((socket) => {
      socket.setNoDelay(true)
      socket.on('error', () => undefined)
      socket.on('close', () => sockets[stream].delete(socket))
      sockets[stream].add(socket)
    })
    await new Promise((done) => { server.listen(0, '127.0.0.1', done) })
    ports[stream] = server.address().port
    servers.push(server)
  }
  const sent = new Map()
  let epoch = null
  const start = lines[0].at + from * 1000
  let next = lines.findIndex((l) => l.at >= start)
  const began = Date.now()
  let timer
  const go = () => {
    const now = Date.now()
    while (next < lines.length && lines[next].at - start <= now - began) {
      const { stream, text } = lines[next++]
      for (const socket of sockets[stream]) socket.write(`${text}\r\n`)
      const gga = /^\$..GGA,([\d.]+)/.exec(text)
      if (gga !== null) epoch = gga[1]
      if (stream === 'gnss' && epoch !== null) sent.set(epoch, Date.now())
    }
    if (next < lines.length) timer = setTimeout(go, Math.max(1, lines[next].at - start - (Date.now() - began)))
  }
  go()
  t.after(() => {
    clearTimeout(timer)
    for (const stream of Object.values(sockets)) for (const socket of stream) socket.destroy()
    for (const server of servers) server.close()
  })
  return { ...ports, sent }
}

/** today is a time to start a session at whose lines then come due about now. */
export const today = () => `${new Date(Math.floor(Date.now() / 1000) * 1000 - 20_000).toISOString().slice(0, 19)}Z`
