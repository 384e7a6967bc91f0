// All that the screen knows, and how it changes: a pure reducer, and the smallest
// store around it.

import { everywhere, noGround, redrawn, tiledUpTo, told, worked, type Ground } from './ground'
import type { Access, State, WorkEvent } from './wire'

export type Link = 'connecting' | 'live' | 'lost'

/** A mark that was just left: by its number, and where it lies. */
export interface MarkToast { number: number; kind: string; at: [number, number] | null }

export interface Toast { id: number; text: string; until: number; mark?: MarkToast }

export interface Model {
  state: State | null
  /** performance.now() when the state arrived */
  stateAt: number
  /** performance.now() as last told, at least twice a second */
  now: number
  link: Link
  access: Access | null
  ground: Ground
  /** a field that the operator does not want now */
  declined: string | null
  toasts: readonly Toast[]
}

export const empty: Model = {
  state: null, stateAt: 0, now: 0, link: 'connecting', access: null, ground: noGround, declined: null, toasts: [],
}

export type Happening =
  | { kind: 'state'; state: State; at: number }
  | { kind: 'work'; event: WorkEvent }
  | { kind: 'redraw'; work: number }
  | { kind: 'marks changed' }
  | { kind: 'tiles drawn'; work: number }
  | { kind: 'link'; link: Link }
  | { kind: 'clock'; now: number }
  | { kind: 'access'; access: Access }
  | { kind: 'declined'; field: string }
  | { kind: 'toast'; toast: Toast }
  | { kind: 'toast done'; id: number }

/** reduce is the model after something happened. */
export function reduce(m: Model, h: Happening): Model {
  switch (h.kind) {
    case 'state': {
      const offer = h.state.place.offer?.field ?? null
      return {
        ...m, state: h.state, stateAt: h.at, now: Math.max(m.now, h.at), link: 'live',
        ground: told(m.ground, h.state.tiles, h.state.operation?.number ?? 0),
        declined: offer === m.declined ? m.declined : null,
      }
    }
    case 'work': return { ...m, ground: worked(m.ground, h.event) }
    case 'redraw': return { ...m, ground: redrawn(m.ground, h.work) }
    case 'marks changed': return { ...m, ground: everywhere(m.ground) }
    case 'tiles drawn': {
      const ground = tiledUpTo(m.ground, h.work)
      return ground === m.ground ? m : { ...m, ground }
    }
    case 'link': return m.link === h.link ? m : { ...m, link: h.link }
    case 'clock': return { ...m, now: h.now, toasts: m.toasts.some((t) => t.until <= h.now) ? m.toasts.filter((t) => t.until > h.now) : m.toasts }
    case 'access': return { ...m, access: h.access }
    case 'declined': return { ...m, declined: h.field }
    case 'toast': return { ...m, toasts: [...m.toasts.filter((t) => t.id !== h.toast.id), h.toast].slice(-2) }
    case 'toast done': return { ...m, toasts: m.toasts.filter((t) => t.id !== h.id) }
  }
}

/** How old the parts of what is shown are, seconds; null where there is nothing. */
export interface Ages {
  /** since the daemon was heard */
  link: number
  fix: number | null
  report: number | null
}

/** From when on a part is shown as old, seconds. */
export const oldAfter = 3

/** ages is how old what is shown is by now: as the daemon told, and the time since then. */
export function ages(m: Pick<Model, 'state' | 'stateAt' | 'now'>): Ages {
  const since = Math.max(0, m.now - m.stateAt) / 1000
  const plus = (age: number | null | undefined) => (age === null || age === undefined ? null : age + since)
  return { link: since, fix: plus(m.state?.gnss.age_s), report: plus(m.state?.controller.age_s) }
}

/** isOld tells whether a part must not look fresh. */
export const isOld = (age: number | null): boolean => age === null || age > oldAfter

export interface Store {
  get(): Model
  tell(h: Happening): void
  subscribe(listener: () => void): () => void
}

/** createStore begins with a model. Listeners are called after each change. */
export function createStore(model: Model = empty): Store {
  const listeners = new Set<() => void>()
  return {
    get: () => model,
    tell(h) {
      const next = reduce(model, h)
      if (next === model) return
      model = next
      for (const listener of listeners) listener()
    },
    subscribe(listener) {
      listeners.add(listener)
      return () => listeners.delete(listener)
    },
  }
}
