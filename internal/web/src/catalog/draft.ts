// An item as texts in a form, and back. What was not touched keeps its value to the
// last digit, whatever the unit that it is shown in.

import type { Fault } from '../wire'
import type { Entered, Kind } from './calls'
import { inputsOf, type Input } from './forms'

/** The unit of lengths on this screen: metres in one of it. */
export interface Length { symbol: string; si: number }

export interface Row { a: string; b: string }

/** What stands in a form. */
export interface Draft {
  text: { [member: string]: string }
  sections: string[] // widths, left to right
  parts: Row[] // product, share
  substances: Row[] // name, content
}

const at = (item: unknown, path: string): unknown =>
  path.split('.').reduce<unknown>((v, key) => (typeof v === 'object' && v !== null ? (v as Record<string, unknown>)[key] : undefined), item)

/** plain is a number as a person types it, at most so many decimals. */
export const plain = (v: number, decimals = 6): string => {
  const s = v.toFixed(decimals)
  return s.includes('.') ? s.replace(/\.?0+$/, '').replace(/^-0$/, '0') : s
}

/** number reads what a person typed; a comma is taken for the point. null: no number. */
export function number(s: string): number | null {
  const t = s.trim().replace('−', '-').replace(',', '.')
  return /^-?(\d+\.?\d*|\.\d+)$/.test(t) ? Number(t) : null
}

const shown = (input: Input, v: unknown, unit: Length): string => {
  if (v === undefined || v === null) return ''
  if (typeof v !== 'number') return String(v)
  return input.type === 'length' ? plain(v / unit.si, 3) : plain(v)
}

const rows = (item: Entered, member: string, a: string, b: string): Row[] =>
  ((at(item, member) as Record<string, unknown>[] | undefined) ?? []).map((r) => ({ a: String(r[a] ?? ''), b: typeof r[b] === 'number' ? plain(r[b]) : String(r[b] ?? '') }))

/** draftOf is an item in a form. */
export function draftOf(all: readonly Input[], item: Entered, unit: Length): Draft {
  const text: Draft['text'] = {}
  for (const i of all) text[i.member] = shown(i, at(item, i.member), unit)
  return {
    text,
    sections: ((item['sections_m'] as number[] | undefined) ?? []).map((w) => plain(w / unit.si, 3)),
    parts: rows(item, 'parts', 'product', 'share'),
    substances: rows(item, 'substances', 'name', 'content'),
  }
}

/** Members that are worked out, and not sent back. */
const computed = ['composition', 'area_m2', 'has_boundary']

/** itemOf is what a form says, beside what the item has that is in no form. */
export function itemOf(kind: Kind, draft: Draft, base: Entered, unit: Length): { item: Entered; faults: Fault[] } {
  const faults: Fault[] = []
  const value = (m: string) => draft.text[m] ?? ''
  const inputs = inputsOf(kind, value)
  const item: Entered = {}
  for (const key of ['id', 'revision', 'archived', 'boundary', 'field', 'season']) if (base[key] !== undefined) item[key] = base[key]
  const read = (path: string, text: string, si: number, was: unknown, wasText: string): number | null => {
    if (typeof was === 'number' && text === wasText) return was
    const v = number(text)
    if (v === null) faults.push({ member: path, got: text, want: 'a number' })
    return v === null ? null : si === 1 ? v : Math.round(v * si * 1e4) / 1e4
  }
  for (const i of inputs) {
    const text = value(i.member).trim()
    if (text === '') continue
    const was = at(base, i.member)
    let v: unknown = text
    if (i.type === 'number' || i.type === 'whole' || i.type === 'length') v = read(i.member, text, i.type === 'length' ? unit.si : 1, was, shown(i, was, unit))
    if (v === null) continue
    const [first, second] = i.member.split('.') as [string, string | undefined]
    if (second === undefined) item[first] = v
    else item[first] = { ...(item[first] as object | undefined), [second]: v }
  }
  if (kind === 'implements') {
    const was = (base['sections_m'] as number[] | undefined) ?? []
    item['sections_m'] = draft.sections.map((s, k) => read(`sections_m[${k}]`, s, unit.si, was[k], was[k] === undefined ? '' : plain(was[k] / unit.si, 3)) ?? 0)
  }
  if (kind === 'products' && value('kind') === 'blend') item['parts'] = draft.parts.map((r, k) => ({ product: r.a, share: read(`parts[${k}].share`, r.b, 1, undefined, '') ?? 0 }))
  if (kind === 'products' && ['crop protection', 'seed treatment'].includes(value('kind')) && draft.substances.length > 0) {
    item['substances'] = draft.substances.map((r) => ({ name: r.a, content: r.b }))
  }
  for (const key of computed) delete item[key]
  return { item, faults }
}
