// Empties dist but for the committed placeholder.
import { readdirSync, rmSync } from 'node:fs'
import { join } from 'node:path'

for (const name of readdirSync('dist')) {
  if (name !== 'placeholder.html') rmSync(join('dist', name), { recursive: true })
}
