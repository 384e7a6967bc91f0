// Two people changed one item. What only one of them changed is his; where both did, a
// person chooses. Nothing is lost unseen.

import type { Entered, Item } from './calls'

export interface Difference {
  member: string
  base: unknown
  mine: unknown
  theirs: unknown
  /** who changed it */
  by: 'me' | 'them' | 'both'
}

const aside = new Set(['id', 'revision', 'composition', 'area_m2', 'has_boundary'])
/** same compares values, objects whatever the order of their members. */
export function same(a: unknown, b: unknown): boolean {
  if (a === b) return true
  if (typeof a !== 'object' || typeof b !== 'object' || a === null || b === null) return empty(a) && empty(b)
  if (Array.isArray(a) !== Array.isArray(b)) return false
  const x = a as Record<string, unknown>, y = b as Record<string, unknown>
  return [...new Set([...Object.keys(x), ...Object.keys(y)])].every((k) => same(x[k], y[k]))
}

/** What is left out and what is empty say the same. */
const empty = (v: unknown): boolean => v === undefined || v === null || v === '' || v === false

/** differences are the members that mine or theirs have otherwise than base. */
export function differences(base: Entered, mine: Entered, theirs: Entered): Difference[] {
  const members = new Set([...Object.keys(base), ...Object.keys(mine), ...Object.keys(theirs)])
  const out: Difference[] = []
  for (const member of members) {
    if (aside.has(member)) continue
    const [b, m, t] = [base[member], mine[member], theirs[member]]
    const byMe = !same(b, m), byThem = !same(b, t)
    if (!byMe && !byThem) continue
    if (same(m, t)) continue // both said the same
    out.push({ member, base: b, mine: m, theirs: t, by: byMe && byThem ? 'both' : byMe ? 'me' : 'them' })
  }
  return out.sort((x, y) => (x.member < y.member ? -1 : 1))
}

export type Choice = 'mine' | 'theirs'

/** proposed is the choice that loses nothing, undefined where a person must choose. */
export const proposed = (d: Difference): Choice | undefined => (d.by === 'me' ? 'mine' : d.by === 'them' ? 'theirs' : undefined)

/** merged is theirs with what was chosen of mine; undefined while a choice is open. */
export function merged(theirs: Item, list: readonly Difference[], choices: { [member: string]: Choice }): Entered | undefined {
  const out: Entered = { ...theirs }
  for (const d of list) {
    const choice = choices[d.member] ?? proposed(d)
    if (choice === undefined) return undefined
    if (choice === 'mine') out[d.member] = d.mine
  }
  for (const key of ['composition', 'area_m2', 'has_boundary']) delete out[key]
  for (const key of Object.keys(out)) if (out[key] === undefined) delete out[key]
  return out
}
