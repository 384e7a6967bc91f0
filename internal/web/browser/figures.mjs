// What was measured: printed at once, and all together by run.mjs at the end.

import { appendFileSync } from 'node:fs'

/** figure notes a measured value. */
export function figure(text) {
  console.log(`figures: ${text}`)
  const file = process.env.DRAWBAR_FIGURES
  if (file !== undefined) appendFileSync(file, `${text}\n`)
}

/** quantile is the value below which a part of the values lie; NaN of none. */
export function quantile(values, part) {
  const sorted = [...values].sort((a, b) => a - b)
  return sorted[Math.min(sorted.length - 1, Math.floor(part * sorted.length))] ?? NaN
}
