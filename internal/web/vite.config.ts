import { readFileSync, readdirSync } from 'node:fs'
import { createHash } from 'node:crypto'
import { join } from 'node:path'
import preact from '@preact/preset-vite'
import { defineConfig, type Plugin } from 'vite'

/** shell writes the list of the page's own files, and a name for this build, into the service worker. */
function shell(): Plugin {
  return {
    name: 'shell',
    generateBundle(_, bundle) {
      const files = Object.keys(bundle).filter((name) => name !== 'sw.js' && !name.endsWith('.map')).sort()
      const worker = bundle['sw.js']
      if (worker?.type !== 'chunk') throw new Error('the build made no sw.js')
      const all = ['/', ...[...files, ...readdirSync('public')].filter((name) => name !== 'index.html').map((name) => (name === 'marks.html' ? '/marks' : `/${name}`))]
      const hash = createHash('sha256')
      for (const name of files) {
        const file = bundle[name]
        hash.update(name).update(file?.type === 'chunk' ? file.code : (file?.source ?? ''))
      }
      worker.code = worker.code.replace('__SHELL__', JSON.stringify(all).slice(1, -1).replace(/"/g, "'").slice(1, -1)).replace('__BUILD__', hash.digest('hex').slice(0, 12))
    },
  }
}

/** licences writes what the licences of the bundled packages ask for. */
function licences(): Plugin {
  return {
    name: 'licences',
    generateBundle() {
      const read = (name: string) => JSON.parse(readFileSync(join('node_modules', name, 'package.json'), 'utf8')) as { version: string; license?: string; dependencies?: Record<string, string> }
      const names = new Set<string>()
      const add = (name: string) => {
        if (names.has(name) || name.startsWith('@types/')) return
        names.add(name)
        for (const below of Object.keys(read(name).dependencies ?? {})) add(below)
      }
      for (const name of ['maplibre-gl', 'preact']) add(name)
      const text = [...names].sort().map((name) => {
        const { version, license } = read(name)
        const file = readdirSync(join('node_modules', name)).find((f) => /^licen[cs]e/i.test(f))
        return `${name} ${version}, ${license ?? 'licence below'}\n\n${file === undefined ? '' : readFileSync(join('node_modules', name, file), 'utf8').trim()}\n`
      })
      this.emitFile({ type: 'asset', fileName: 'licences.txt', source: text.join(`\n${'-'.repeat(72)}\n\n`) })
    },
  }
}

export default defineConfig({
  plugins: [preact(), licences(), shell()],
  build: {
    target: 'es2022',
    // dist also holds the committed placeholder; scripts/clean.mjs empties the rest
    emptyOutDir: false,
    assetsInlineLimit: 0,
    modulePreload: { polyfill: false },
    chunkSizeWarningLimit: 2000,
    rolldownOptions: {
      input: { index: 'index.html', marks: 'marks.html', sw: 'src/sw.ts' },
      output: { entryFileNames: (chunk) => (chunk.name === 'sw' ? 'sw.js' : 'assets/[name]-[hash].js') },
    },
  },
  test: { include: ['src/**/*.test.ts'] },
} as Parameters<typeof defineConfig>[0])
