// Runs the browser tests two at a time, those that measure one after the other, then
// prints what they measured.

import { spawnSync } from 'node:child_process'
import { mkdtempSync, existsSync, readFileSync, readdirSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'

const here = import.meta.dirname
const wanted = process.argv.slice(2)
const alone = ['link', 'pace', 'truth', 'work'].map((name) => `${name}.test.mjs`) // must not share the processors
const files = readdirSync(here).filter((f) => f.endsWith('.test.mjs') && (wanted.length === 0 || wanted.some((w) => f.includes(w)))).sort()
const dir = mkdtempSync(join(tmpdir(), 'drawbar-figures-'))
const figures = join(dir, 'figures')
const began = performance.now()
const test = (abreast, names) => names.length === 0 ? 0 : spawnSync(process.execPath, ['--test', `--test-concurrency=${abreast}`, '--test-reporter=spec', ...names.map((f) => join(here, f))], {
  stdio: 'inherit', env: { ...process.env, DRAWBAR_FIGURES: figures },
}).status ?? 1
const status = [test(2, files.filter((f) => !alone.includes(f))), test(1, files.filter((f) => alone.includes(f)))]
console.log(`\nfigures, of ${((performance.now() - began) / 1000).toFixed(0)} s in all:`)
if (existsSync(figures)) process.stdout.write(readFileSync(figures, 'utf8').replace(/^/gm, '  ').trimEnd() + '\n')
rmSync(dir, { recursive: true, force: true })
process.exit(Math.max(...status))
