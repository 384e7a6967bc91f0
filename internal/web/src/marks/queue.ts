// What a second person ticked and the recorder does not know yet. A tick is kept on
// the phone until the recorder has taken it, whatever the link does meanwhile.

import type { KeptMark } from '../wire'

export type MarkState = KeptMark['state']

/** Ticks that were not taken yet, by the id of the mark. */
export type Waiting = Readonly<Record<string, MarkState>>

/** tick is what waits once a person has said of a mark that it is done or open. */
export function tick(waiting: Waiting, mark: KeptMark, state: MarkState): Waiting {
  const { [mark.id]: _, ...rest } = waiting
  return mark.state === state ? rest : { ...rest, [mark.id]: state }
}

/** shown are the marks as the person left them: with what waits laid over. */
export const shown = (marks: readonly KeptMark[], waiting: Waiting): KeptMark[] => marks.map((m) => ({ ...m, state: waiting[m.id] ?? m.state }))

/** settled is what still waits once the recorder has answered for a mark: 2xx took it, 404 has no such mark any more. */
export function settled(waiting: Waiting, id: string, sent: MarkState, status: number): Waiting {
  const over = (status >= 200 && status < 300) || status === 404 || status === 422
  if (!over || waiting[id] !== sent) return waiting // or it was ticked anew while it was under way
  const { [id]: _, ...rest } = waiting
  return rest
}

/** heard is what still waits beside a new list: what the recorder says already needs no sending. */
export function heard(waiting: Waiting, marks: readonly KeptMark[]): Waiting {
  const at = new Map(marks.map((m) => [m.id, m.state]))
  return Object.fromEntries(Object.entries(waiting).filter(([id, state]) => at.has(id) && at.get(id) !== state))
}

const place = 'drawbar.marks'

export interface Kept { marks: KeptMark[]; units: string; at: number; waiting: Waiting }

/** recall is what was kept on this phone; null where there is nothing, or something else. */
export function recall(): Kept | null {
  try {
    const v = JSON.parse(localStorage.getItem(place) ?? 'null') as Partial<Kept> | null
    if (v === null || !Array.isArray(v.marks) || typeof v.at !== 'number' || typeof v.waiting !== 'object' || v.waiting === null) return null
    return { marks: v.marks, units: v.units ?? 'metric', at: v.at, waiting: v.waiting }
  } catch {
    return null
  }
}

/** remember keeps it; false where this browser keeps nothing. */
export function remember(k: Kept): boolean {
  try {
    localStorage.setItem(place, JSON.stringify(k))
    return true
  } catch {
    return false
  }
}

/** forget is for a phone that is let in no more. */
export function forget(): void {
  try {
    localStorage.removeItem(place)
  } catch {
    // nothing was kept
  }
}
