// Recorded work in words: days, spans, what a correction states, and what it changes.

import { amountOf, show, systems, type Figure, type System } from '../units'
import type { Mended } from './calls'

function format(time: string, zone: string, options: Intl.DateTimeFormatOptions): string {
  const at = new Date(time)
  if (Number.isNaN(at.getTime())) return 'unknown'
  try {
    return new Intl.DateTimeFormat('en-GB', { ...options, timeZone: zone }).format(at)
  } catch {
    return `${new Intl.DateTimeFormat('en-GB', { ...options, timeZone: 'UTC' }).format(at)} UTC`
  }
}

/** day is a date with its weekday, in a zone. */
export const day = (time: string | null, zone: string): string =>
  time === null ? 'Day not known' : format(time, zone, { weekday: 'short', day: 'numeric', month: 'short', year: 'numeric' })

/** minute is a time of day in a zone. */
export const minute = (time: string | null, zone: string): string =>
  time === null ? '?' : format(time, zone, { hour: '2-digit', minute: '2-digit', hourCycle: 'h23' })

/** moment is a date and a time in a zone. */
export const moment = (time: string | null, zone: string): string =>
  time === null ? 'unknown' : format(time, zone, { day: 'numeric', month: 'short', year: 'numeric', hour: '2-digit', minute: '2-digit', second: '2-digit', hourCycle: 'h23' })

/** fieldCapacity is ground an hour; one decimal says it all. */
export function fieldCapacity(units: System, m2PerS: number): Figure {
  const { symbol, si } = systems[units].area
  return { value: (m2PerS * 3600 / si).toFixed(1), symbol: `${symbol}/h` }
}

/** hours is a time in hours and minutes. */
export function hours(s: number): string {
  const m = Math.round(s / 60)
  if (m < 1) return `${Math.round(s)} s`
  return m < 60 ? `${m} min` : `${Math.floor(m / 60)} h ${m % 60} min`
}

export const percent = (part: number | null, digits = 0): string => (part === null ? 'unknown' : `${(part * 100).toFixed(digits).replace(/^-(0(\.0+)?)$/, '$1')}\u00a0%`)

/** amount is so much of a unit of the API, in those of a person. */
export function amount(system: System, unit: string, value: number | null): string {
  const of = amountOf(unit)
  return of === null ? 'unknown' : show(system, of.amount, value)
}

export function rate(system: System, unit: string, value: number | null): string {
  const of = amountOf(unit)
  return of === null ? 'unknown' : show(system, of.rate, value)
}

/** A time of a form, which shows local time: '2026-05-14T14:05:10'. It is of the zone of the browser. */
export function toForm(time: string): string {
  const d = new Date(time)
  const two = (n: number) => String(n).padStart(2, '0')
  return `${d.getFullYear()}-${two(d.getMonth() + 1)}-${two(d.getDate())}T${two(d.getHours())}:${two(d.getMinutes())}:${two(d.getSeconds())}`
}

/** fromForm is the time that a form shows, in UTC; null where it is none. */
export function fromForm(text: string): string | null {
  const d = new Date(text)
  return text === '' || Number.isNaN(d.getTime()) ? null : d.toISOString()
}

/** The span of an operation as a correction covers it: to a thousandth beyond its last moment. */
export function spanOf(work: { start: string | null; end: string | null }): { from: string; to: string } | null {
  if (work.start === null || work.end === null) return null
  return { from: new Date(work.start).toISOString(), to: new Date(Date.parse(work.end) + 1).toISOString() }
}

const text = (v: unknown): string => (typeof v === 'string' ? v : typeof v === 'number' ? String(v) : JSON.stringify(v))
const member = (of: unknown, name: string): unknown => (typeof of === 'object' && of !== null ? (of as Record<string, unknown>)[name] : undefined)

/** states is what a correction states, in words. */
export function states(statement: Record<string, unknown>): string {
  const said: string[] = []
  for (const [key, v] of Object.entries(statement)) {
    switch (key) {
      case 'from': case 'to': case 'why': case 'by': case 'made': break // told beside it
      case 'field': said.push(`field ${text(v)}`); break
      case 'operation': said.push(`operation ${text(v)}`); break
      case 'person': said.push(v === '' ? 'nobody named' : `person ${text(v)}`); break
      case 'crop': said.push(`crop ${text(v)}`); break
      case 'boundary': said.push(v === null ? 'no boundary' : 'another boundary'); break
      case 'implement': said.push(`implement ${text(member(v, 'name') ?? '')}, sections ${((member(v, 'sections_m') as number[] | undefined) ?? []).join(' + ')} m`); break
      case 'weighed': said.push(`tank ${text(member(v, 'tank'))} weighed ${text(member(v, 'amount'))}`); break
      case 'adjust':
      case 'tanks':
        for (const a of Array.isArray(v) ? v : []) {
          const of: string[] = []
          const product = member(a, 'product')
          if (product !== undefined) of.push(text(member(product, 'name')))
          if (member(a, 'target') !== undefined) of.push(`target ${text(member(a, 'target'))}`)
          if (member(a, 'rate') !== undefined) of.push(`amount by ${({ reported: 'the reported rate', target: 'the target', flow: 'the flow' } as Record<string, string>)[text(member(a, 'rate'))] ?? text(member(a, 'rate'))}`)
          if (member(a, 'lag_s') !== undefined) of.push(`lag ${text(member(a, 'lag_s'))} s`)
          if (member(a, 'factor') !== undefined) of.push(`amount × ${text(member(a, 'factor'))}`)
          if (member(a, 'capacity') !== undefined) of.push(`capacity ${text(member(a, 'capacity'))}`)
          said.push(`tank ${text(member(a, 'tank'))}: ${of.join(', ')}`)
        }
        break
      default: said.push(`${key.replace(/_/g, ' ')} ${text(v)}`)
    }
  }
  return said.join('; ')
}

/** One figure of an operation as it is laid beside another. */
export interface Line { label: string; value: string }

/** lines are the figures of an operation that a correction may change. */
export function lines(system: System, o: Mended): Line[] {
  const out: Line[] = [
    { label: 'Field', value: o.field === '' ? 'not stated' : o.field },
    { label: 'Operation', value: o.operation === '' ? 'not stated' : o.operation },
    { label: 'Implement', value: `${o.implement ?? 'unknown'}, ${show(system, 'length', o.width_m)}` },
    { label: 'Covered', value: show(system, 'area', o.area.covered_m2) },
    { label: 'Overlap', value: show(system, 'area', o.area.overlap_m2) },
    { label: 'Working time', value: hours(o.working_s) },
  ]
  if (o.crop !== null) out.splice(2, 0, { label: 'Crop', value: o.crop })
  for (const p of o.products) {
    const name = p.name === '' ? `Tank ${p.tank}` : `${p.name} (tank ${p.tank})`
    out.push({ label: name, value: amount(system, p.unit, p.applied) }, { label: `${name}, mean rate`, value: rate(system, p.unit, p.mean_rate_per_m2) })
  }
  for (const p of o.people) out.push({ label: p.name === null ? 'Nobody named' : p.name, value: show(system, 'area', p.gross_m2) })
  for (const w of o.weighed) out.push({ label: `Tank ${w.tank} weighed`, value: `${amount(system, w.unit, w.weighed)}, metered ${amount(system, w.unit, w.metered)}` })
  return out
}

/** beside lays the figures of two lists of lines side by side, those that have the same label in one row. */
export function beside(before: readonly Line[], after: readonly Line[]): { label: string; before: string | null; after: string | null }[] {
  const rows: { label: string; before: string | null; after: string | null }[] = before.map((l) => ({ label: l.label, before: l.value, after: null }))
  for (const l of after) {
    const row = rows.find((r) => r.label === l.label && r.after === null)
    if (row !== undefined) row.after = l.value
    else rows.push({ label: l.label, before: null, after: l.value })
  }
  return rows
}

/** pairs lays the operations before a correction beside those after it, by when they began. */
export function pairs(before: readonly Mended[], after: readonly Mended[]): { before: Mended | null; after: Mended | null }[] {
  const left = [...after]
  const out: { before: Mended | null; after: Mended | null }[] = before.map((b) => {
    const i = left.findIndex((a) => a.start === b.start)
    const k = i >= 0 ? i : left.findIndex((a) => a.end === b.end)
    return { before: b, after: k < 0 ? null : (left.splice(k, 1)[0] ?? null) }
  })
  return [...out, ...left.map((a) => ({ before: null, after: a }))]
}
