// Runs all browser tests one after the other (they measure, so they must not share the
// processors), then prints what they measured.

import { spawnSync } from 'node:child_process'
import { mkdtempSync, existsSync, readFileSync, readdirSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'

const here = import.meta.dirname
const wanted = process.argv.slice(2)
const files = readdirSync(here).filter((f) => f.endsWith('.test.mjs') && (wanted.length === 0 || wanted.some((w) => f.includes(w)))).sort()
const dir = mkdtempSync(join(tmpdir(), 'drawbar-figures-'))
const figures = join(dir, 'figures')
const began = performance.now()
const { status } = spawnSync(process.execPath, ['--test', '--test-concurrency=1', '--test-reporter=spec', ...files.map((f) => join(here, f))], {
  stdio: 'inherit', env: { ...process.env, DRAWBAR_FIGURES: figures },
})
console.log(`\nfigures, of ${((performance.now() - began) / 1000).toFixed(0)} s in all:`)
if (existsSync(figures)) process.stdout.write(readFileSync(figures, 'utf8').replace(/^/gm, '  ').trimEnd() + '\n')
rmSync(dir, { recursive: true, force: true })
process.exit(status ?? 1)
