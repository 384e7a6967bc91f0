import { defineConfig } from 'vitest/config'

// One file at a time: what it calls is one program with one state. TAP tells an error on
// every Node.js that the page is built with; the default reporter needs a newer one.
export default defineConfig({ test: { root: import.meta.dirname, include: ['*.test.ts'], fileParallelism: false, reporters: ['tap-flat'] } })
