// Recorded sessions in a folder, as a daemon would have recorded them.

import { mkdirSync, readFileSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { drawbar, session } from './daemon.mjs'

/** recorded puts example sessions into dir/data, with the configuration of each, and gives their names. */
export async function recorded(dir, ...examples) {
  const data = join(dir, 'data')
  mkdirSync(data, { recursive: true })
  const names = []
  for (const [i, example] of examples.entries()) {
    const from = session(example)
    const capture = readFileSync(join(from, 'input.capture'), 'utf8')
    const start = /^(\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d)/m.exec(capture)[1]
    const name = `${String(i + 1).padStart(6, '0')}-${start.replace(/[-:]/g, '')}Z`
    const config = readFileSync(join(from, 'config.yaml'), 'utf8')
    const boundary = /boundary: *([\w.-]+)/.exec(config)
    const head = {
      session: name, version: 'test', zone: 'Europe/London', config, outline: boundary === null ? '' : readFileSync(join(from, boundary[1]), 'utf8'),
      field: /field: *\{name: *([^,}]+)/.exec(config)?.[1] ?? '', start: `${start}Z`, part: 1, first: 1,
    }
    const text = join(dir, `${name}.capture`)
    writeFileSync(text, `# drawbar session ${JSON.stringify(head)}\n${capture}`)
    await drawbar('sessions', 'convert', text, join(data, `${name}.mcap`))
    names.push(name)
  }
  return { data, names }
}
