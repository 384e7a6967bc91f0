// What the screen weighs on its way to the tablet, gzip; too much is an error.
import { readFileSync, readdirSync } from 'node:fs'
import { join } from 'node:path'
import { gzipSync } from 'node:zlib'

const limit = 600_000
const loaded = readdirSync('dist', { recursive: true, withFileTypes: true })
  .filter((f) => f.isFile() && /\.(js|mjs|css|html|svg|png|webmanifest)$/.test(f.name) && f.name !== 'placeholder.html')
  .map((f) => join(f.parentPath ?? f.path, f.name))
let total = 0
for (const name of loaded) {
  const size = gzipSync(readFileSync(name), { level: 9 }).length
  total += size
  console.log(`${String(size).padStart(8)}  ${name}`)
}
console.log(`${String(total).padStart(8)}  bytes gzip in all, at most ${limit}`)
if (total > limit) {
  console.error('the page is too heavy: find what grew with the list above')
  process.exit(1)
}
