// The real program, started on a free port in a folder of its own.

import { execFile, spawn } from 'node:child_process'
import { existsSync, mkdtempSync, readFileSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join, resolve } from 'node:path'
import { promisify } from 'node:util'

const root = resolve(import.meta.dirname, '../../..')

/** binary is the program under test: DRAWBAR_BIN, else what make build wrote. */
export const binary = process.env.DRAWBAR_BIN ?? join(root, 'bin/drawbar')

export const session = (name) => join(root, 'testdata/sessions', name)

/** folder makes an empty folder that is gone after the test. */
export function folder(t) {
  const dir = mkdtempSync(join(tmpdir(), 'drawbar-browser-'))
  t.after(() => rmSync(dir, { recursive: true, force: true }))
  return dir
}

/** drawbar runs a command of the program to its end and gives what it printed. */
export async function drawbar(...args) {
  const { stdout } = await promisify(execFile)(binary, args, { maxBuffer: 64 << 20 })
  return stdout
}

/**
 * start starts the daemon and waits until it says where its page is. Gives origin (on
 * loopback), port, pid, output(), get(path), post(path, body) and stop().
 */
export async function start(t, args) {
  if (!existsSync(binary)) throw new Error(`no program at ${binary}: run make build, or name it with DRAWBAR_BIN`)
  const child = spawn(binary, args, { stdio: ['ignore', 'pipe', 'pipe'] })
  const ended = new Promise((done) => { child.once('close', done) })
  let said = ''
  const address = await new Promise((found, failed) => {
    const give = setTimeout(() => failed(new Error(`drawbar ${args.join(' ')} named no address in 30 s:\n${said}`)), 30_000)
    const hear = (chunk) => {
      said += chunk
      const m = /http:\/\/(\S+?):(\d+)\//.exec(said)
      if (m !== null) { clearTimeout(give); found({ port: Number(m[2]) }) }
    }
    child.stdout.on('data', hear)
    child.stderr.on('data', hear)
    child.once('error', failed)
    child.once('exit', (code) => { clearTimeout(give); failed(new Error(`drawbar ${args.join(' ')} ended with ${code}:\n${said}`)) })
  })
  const origin = `http://127.0.0.1:${address.port}`
  let stopped = false
  const stop = async (signal = 'SIGTERM') => {
    stopped = true
    if (child.exitCode === null && child.signalCode === null) child.kill(signal)
    const late = setTimeout(() => child.kill('SIGKILL'), 10_000)
    await ended
    clearTimeout(late)
  }
  t.after(async () => {
    const early = child.exitCode ?? child.signalCode
    if (early !== null && !stopped) throw new Error(`drawbar ${args.join(' ')} ended by itself with ${early}:\n${said}`)
    await stop()
  })
  const ask = async (path, init) => {
    const answer = await fetch(origin + path, init)
    const text = await answer.text()
    if (!answer.ok) throw new Error(`${init?.method ?? 'GET'} ${path}: ${answer.status} ${text}`)
    return text === '' ? null : JSON.parse(text)
  }
  return {
    origin, port: address.port, pid: child.pid, stop, output: () => said,
    get: (path) => ask(path),
    post: (path, body) => ask(path, { method: 'POST', body: JSON.stringify(body), headers: { 'Content-Type': 'application/json' } }),
    remove: (path) => ask(path, { method: 'DELETE' }),
  }
}

/** demo starts the simulated tractor at some pace. */
export const demo = (t, speed, ...more) => start(t, ['demo', '--speed', String(speed), '--listen', '127.0.0.1:0', '--data', join(folder(t), 'demo'), ...more])

/** cpuSeconds is the processor time of a process so far; Linux counts it in hundredths of a second. */
export function cpuSeconds(pid) {
  const stat = readFileSync(`/proc/${pid}/stat`, 'utf8')
  const [user, system] = stat.slice(stat.lastIndexOf(')') + 2).split(' ').slice(11, 13).map(Number)
  return (user + system) / 100
}

export const pause = (ms) => new Promise((done) => { setTimeout(done, ms) })

/** until asks again and again until what() gives something other than false, null or undefined. */
export async function until(what, name, ms = 15_000) {
  const end = performance.now() + ms
  let last
  for (;;) {
    try {
      last = await what()
      if (last !== false && last !== null && last !== undefined) return last
    } catch (e) {
      last = e
    }
    if (performance.now() > end) throw new Error(`${name}: not within ${ms} ms; last: ${last instanceof Error ? last.stack : String(last)}`)
    await pause(50)
  }
}
